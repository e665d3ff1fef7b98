"""The pure core: one step for every input, events out. No clock, no I/O, no thread.

All judgement happens on a grid of whole seconds of the job's time line. A frame or a tick that lies
beyond the next grid points first takes those points, so that a gap has the same consequences live,
on a fast clock and replayed. A span in which nobody watched (`Unseen`) has no grid points at all.
"""

from __future__ import annotations

import math
from datetime import date
from statistics import fmean
from typing import assert_never

from firmware_host.channels.fellows import Fellows
from firmware_host.channels.form import SLOWEST, FormHeat
from firmware_host.channels.fusion import fuse
from firmware_host.channels.gauges import Gauges
from firmware_host.channels.scene import Scene
from firmware_host.config.schema import JobDescription
from firmware_host.core.alarm_board import AlarmBoard
from firmware_host.core.bag_watch import BagWatch
from firmware_host.core.channel_watch import ChannelWatch, FaultFound
from firmware_host.core.cure_watch import CureWatch
from firmware_host.core.job_state import JobState
from firmware_host.core.pace import Pace
from firmware_host.core.room_air import RoomAir
from firmware_host.core.rules import Rules
from firmware_host.core.show import show
from firmware_host.core.thermal_history import BLOCK_S
from firmware_host.core.trend import TrendRing
from firmware_host.core.zeroing import Zeroing
from firmware_host.history.prior import RatePrior
from firmware_host.model.channels import Quantity, Role
from firmware_host.model.events import AlarmChanged, Event, GapSeen, Phase, SensorFaultChanged
from firmware_host.model.quality import WEIGHT
from firmware_host.model.samples import (
    Acknowledge,
    Frame,
    Group,
    Input,
    LinkChanged,
    Mark,
    PliesLaid,
    SelfCheck,
    Shelve,
    Tick,
    Unseen,
)
from firmware_host.model.snapshot import LaminateView, View
from firmware_host.model.trend import Trend

MBAR_PA = 100.0
TWO_SIDED_95 = 1.96
GAUGES = (Role.BAG, Role.PUMP, Role.BAROMETER)
HEAT_LINGERS_S = 900.0
"""For so long after a lamp went off couples cool at their own pace, and none is accused for it."""
HANDLED = (Phase.RELEASED, Phase.CLOSED, Phase.ABANDONED)


class Monitor:
    """Everything that is known of one job."""

    def __init__(
        self,
        job: JobDescription,
        groups: tuple[Group, ...],
        learnt: RatePrior | None = None,
        poured_on: date | None = None,
    ) -> None:
        """Begin; `learnt` says what the job's start rests on, where something was learnt."""
        self.job = job
        self.groups = groups
        self.now_s = 0.0
        self.unseen_s = 0.0
        self._next_tick_s: int | None = None
        self._paces = tuple(Pace(group.period_s) for group in groups)
        self._watches = tuple(
            tuple(ChannelWatch(channel, 0.0) for channel in group.channels) for group in groups
        )
        self.channels = tuple(watch for group in self._watches for watch in group)
        self._group_of = tuple(number for number, group in enumerate(self._watches) for _ in group)
        self._thermal = tuple(
            watch for watch in self.channels if watch.channel.role.quantity is Quantity.TEMPERATURE
        )
        self._bag_watch = next(
            (watch for watch in self.channels if watch.channel.role is Role.BAG), None
        )
        self._pump_watch = next(
            (watch for watch in self.channels if watch.channel.role is Role.PUMP), None
        )
        self.bag = BagWatch(job.bag.pressure_limit_mbar * MBAR_PA, job.bag.drop_limit_pa_per_s)
        self.cure = CureWatch(
            job,
            tuple(watch.channel.role for watch in self._thermal),
            learnt,
            tuple(watch.channel.name for watch in self._thermal),
            poured_on,
        )
        self.board = AlarmBoard()
        self.state = JobState(job, self.bag, self.cure)
        self.rules = Rules(job, self.bag, self.cure, self.state, self.board)
        self._fellows = Fellows([watch.channel.role for watch in self._thermal], form_of(job))
        self._heated_s = -math.inf
        """When heat was last on."""
        self._gauges = Gauges()
        self._gauge = {
            role: watch for watch in self.channels for role in GAUGES if watch.channel.role is role
        }
        self.laminate: LaminateView | None = None
        self._zeroing = Zeroing(
            {watch.channel.name: watch.channel.role for watch in self.channels},
            _station_pa(job),
        )
        self.doubts: tuple[str, ...] = ()
        """What was found at the start and is in question, in words."""
        self._trend = TrendRing()
        self._room = RoomAir()

    def step(self, given: Input) -> list[Event]:
        """Take one input; returns what there is to say."""
        match given:
            case Frame():
                return self._frame(given)
            case Tick() | LinkChanged():
                return self._catch_up(given.time_s)
            case Mark():
                said = self._catch_up(given.heard_s)
                return said + self.rules.after_mark(self.state.mark(given, self.now_s), self.now_s)
            case Unseen():
                return self._unseen(given)
            case Acknowledge() | Shelve():
                return [*self._catch_up(given.time_s), *self._about_alarm(given)]
            case PliesLaid():
                return [*self._catch_up(given.time_s), *self.state.lay(given.laid, self.now_s)]
            case SelfCheck():
                said = self._catch_up(given.time_s)
                return [*said, *self.rules.self_check(given, self.now_s)]
            case _:
                assert_never(given)

    def _about_alarm(self, given: Acknowledge | Shelve) -> list[AlarmChanged]:
        """Take what somebody said of an alarm."""
        if isinstance(given, Acknowledge):
            return self.board.acknowledge(given.alarm_id, self.now_s)
        return self.board.shelve(given.alarm_id, self.now_s, given.time_s + given.for_s)

    def finish(self) -> list[Event]:
        """Say the last words: a log has ended, nothing more will come."""
        tests = self.bag.finish(self.now_s)
        return [*self.rules.after_tests(tests, self.now_s), *self.cure.finish(self.now_s)]

    def view(self) -> View:
        """Show what is known now."""
        return show(self)

    def trend(self) -> Trend:
        """Show the job so far."""
        return self._trend.trend()

    def room_pa(self) -> float | None:
        """Give the room's pressure: by barometer, else as the bag read before it was pumped."""
        for number, watch in enumerate(self.channels):
            if watch.channel.role is Role.BAROMETER:
                measured_pa = watch.believed(self.now_s, self.period_of(number))
                return measured_pa if measured_pa is not None else self._room.pressure_pa
        return self._room.pressure_pa

    def period_of(self, channel_number: int) -> float:
        """Give the time between readings of a channel."""
        return self._paces[self._group_of[channel_number]].period_s

    def _frame(self, frame: Frame) -> list[Event]:
        said = self._catch_up(frame.time_s)
        self._paces[frame.group].take(frame.time_s)
        watches = self._watches[frame.group]
        for watch, value, reason in zip(watches, frame.values, frame.reasons, strict=True):
            passed = watch.take(frame.time_s, value, reason)
            if watch is self._bag_watch:
                for time_s, pressure_pa in passed:
                    self.bag.take(time_s, pressure_pa, self.cure.laminate_k())
        return said

    def _catch_up(self, time_s: float) -> list[Event]:
        """Take every grid point up to a moment."""
        if self._next_tick_s is None:
            self._begin(time_s)
        said: list[Event] = []
        tick_s = self._next_tick_s
        while tick_s is not None and tick_s <= time_s:
            self.now_s = max(self.now_s, float(tick_s))
            self._next_tick_s = tick_s + 1
            said += self._tick(tick_s)
            tick_s = self._next_tick_s
        self.now_s = max(self.now_s, time_s)
        return said

    def _begin(self, time_s: float) -> None:
        self._next_tick_s = math.floor(time_s) + 1
        for watch in self.channels:
            watch.heard_s = time_s

    def _tick(self, tick_s: int) -> list[Event]:
        said = self._look_at_channels(float(tick_s))
        if tick_s % BLOCK_S == 0:
            said += self._block(float(tick_s))
        said += self.state.tick(self.now_s)
        said += self.board.end_shelves(self.now_s)
        said += self.rules.each_second(self.now_s, bag_known=self._bag_known())
        return said

    def _look_at_channels(self, now_s: float) -> list[Event]:
        said: list[Event] = []
        for number, watch in enumerate(self.channels):
            change = watch.look(now_s, self.period_of(number))
            if change is not None:
                said += self._fault(watch, change, now_s)
        return said

    def _fault(self, watch: ChannelWatch, change: FaultFound, now_s: float) -> list[Event]:
        name = watch.channel.name
        told = SensorFaultChanged(
            time_s=now_s,
            channel=name,
            kind=change.kind,
            start_s=change.start_s,
            end_s=change.end_s,
        )
        return [told, *self.rules.sensor(name, change, now_s)]

    def _ask_fellows(self, now_s: float) -> list[Event]:
        """Let the couples speak for and against each other."""
        means = [watch.mean for watch in self._thermal]
        for index, watch in enumerate(self._thermal):
            if watch.blind and self._fellows.agrees(now_s, index, means):
                watch.pardon()
        if self.cure.heated:
            self._heated_s = now_s
        scene = Scene(
            believed=[not watch.blind for watch in self._thermal],
            noisy=[watch.noisy for watch in self._thermal],
            runs_since_s=[watch.run.since_s for watch in self._thermal],
            heated=now_s - self._heated_s < HEAT_LINGERS_S,
            wet=self.cure.mixed_s is not None,
            handled=self.state.phase in HANDLED,
        )
        said: list[Event] = []
        for found in self._fellows.judge(now_s, means, scene):
            watch = self._thermal[found.index]
            said += self._fault(watch, watch.accuse(found.kind, found.since_s), now_s)
        return said

    def _ask_gauges(self, now_s: float) -> list[Event]:
        """Let the gauges speak against each other."""
        bag, pump, barometer = (self._gauge.get(role) for role in GAUGES)
        found = self._gauges.judge(
            now_s,
            _mean_of(bag),
            _mean_of(pump),
            (bag.run.since_s if bag else None, pump.run.since_s if pump else None),
            drawing=self.state.drawing,
        )
        found += self._gauges.weather(now_s, _mean_of(barometer))
        said: list[Event] = []
        for one in found:
            watch = self._gauge[one.role]
            said += self._fault(watch, watch.accuse(one.kind, one.since_s), now_s)
        return said

    def _block(self, now_s: float) -> list[Event]:
        for number, watch in enumerate(self.channels):
            watch.close_block(now_s, self.period_of(number))
        said = self._ask_fellows(now_s) + self._ask_gauges(now_s) + self._zero(now_s)
        temps = tuple(None if watch.blind else watch.mean for watch in self._thermal)
        bag_pa = self._keep_trend(now_s, temps)
        said += self.cure.block(now_s, temps)
        tests = self.bag.look(now_s)
        said += self.rules.after_tests(tests, now_s)
        pump = self._pump_watch
        pump_pa = None if pump is None or pump.blind else pump.mean
        bag = self._bag_watch
        fresh = bag is None or bag.fresh
        said += self.rules.flow.block(now_s, bag_pa, pump_pa, fresh=fresh)
        said += self.rules.each_block(now_s, self._believed(temps, (Role.PART, Role.MOULD)))
        return said + self.rules.cups(now_s, self._believed(temps, (Role.CUP,)))

    def _believed(
        self, temps_k: tuple[float | None, ...], roles: tuple[Role, ...]
    ) -> dict[str, float | None]:
        """Means of the channels with these roles, None where one is doubted."""
        return {
            watch.channel.name: None if watch.doubtful else temp_k
            for watch, temp_k in zip(self._thermal, temps_k, strict=True)
            if watch.channel.role in roles
        }

    def _zero(self, now_s: float) -> list[Event]:
        """Hold the channels against each other and the room, until each has been."""
        names = [watch.channel.name for watch in self._thermal]
        found = self._zeroing.couples(now_s, dict(zip(names, self._fellows.zeros_k(), strict=True)))
        found += self._zeroing.gauges(
            now_s,
            {watch.channel.name: _mean_of(watch) for watch in self._gauge.values()},
            pumped=self.state.pump_on_s is not None or self.bag.was_below,
        )
        self.doubts += tuple(zero.text for zero in found if not zero.sound)
        learnt = [watch.learnt(now_s) for watch in self.channels]
        return [*found, *(one for one in learnt if one is not None)]

    def _keep_trend(self, now_s: float, temps_k: tuple[float | None, ...]) -> float | None:
        shops = [
            temp_k
            for watch, temp_k in zip(self._thermal, temps_k, strict=True)
            if temp_k is not None and watch.channel.role is Role.SHOP
        ]
        shop_k = fmean(shops) if shops else None
        bag = self._bag_watch
        bag_pa = None if bag is None or bag.blind else bag.mean
        pumped = self.state.pump_on_s is not None or self.bag.was_below
        self._room.block(bag_pa, pumped=pumped)
        self.laminate = self._fused(now_s, temps_k, shop_k)
        part_k = self.laminate.mean_k if self.laminate else None
        self._trend.add(now_s, (bag_pa, part_k, shop_k))
        return bag_pa

    def _fused(
        self, now_s: float, temps_k: tuple[float | None, ...], shop_k: float | None
    ) -> LaminateView | None:
        """Join the laminate's couples, a doubtful one with less weight."""
        names, seen, weights = [], [], []
        for watch, temp_k in zip(self._thermal, temps_k, strict=True):
            if watch.channel.role is Role.PART:
                period_s = self.period_of(self.channels.index(watch))
                names.append(watch.channel.name)
                seen.append(temp_k)
                weights.append(WEIGHT[watch.grade(now_s, period_s).quality])
        joined = fuse(seen, weights, shop_k)
        if joined is None:
            return None
        return LaminateView(
            mean_k=joined.mean_k,
            low_k=joined.mean_k - TWO_SIDED_95 * joined.sd_k,
            high_k=joined.mean_k + TWO_SIDED_95 * joined.sd_k,
            hottest_k=joined.hottest_k,
            hottest=names[joined.hottest],
        )

    def _bag_known(self) -> bool:
        if self._bag_watch is None or self._bag_watch.doubtful:
            return False
        period_s = self.period_of(self.channels.index(self._bag_watch))
        return self._bag_watch.believed(self.now_s, period_s) is not None

    def _unseen(self, gap: Unseen) -> list[Event]:
        said = self._catch_up(gap.start_s)
        self.now_s = max(self.now_s, gap.time_s)
        self._next_tick_s = math.floor(self.now_s) + 1
        self.unseen_s += max(gap.time_s - gap.start_s, 0.0)
        for number, watch in enumerate(self.channels):
            watch.forgive(self.now_s)
            watch.close_block(self.now_s, self.period_of(number))
        return [*said, GapSeen(time_s=self.now_s, start_s=gap.start_s, why=gap.why)]


def _mean_of(watch: ChannelWatch | None) -> float | None:
    return None if watch is None or watch.blind else watch.mean


def _station_pa(job: JobDescription) -> float | None:
    typed = job.conditions.station_pressure_hpa if job.conditions else None
    return None if typed is None else typed * 100.0


def form_of(job: JobDescription) -> FormHeat:
    """Give the form as the job file describes it; what the file leaves out is as slow as can be."""
    stated = job.laminate
    heat, contact = (
        f"laminate.{key}" not in job.assumed
        for key in ("mould_heat_kj_per_m2k", "contact_w_per_m2k")
    )
    return FormHeat(
        heat_j_per_m2k=stated.mould_heat_kj_per_m2k * 1000.0 if heat else SLOWEST.heat_j_per_m2k,
        contact_w_per_m2k=stated.contact_w_per_m2k if contact else SLOWEST.contact_w_per_m2k,
        loss_back_w_per_m2k=stated.loss_back_w_per_m2k,
    )
