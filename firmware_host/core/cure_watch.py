"""The resin from mixing on: feeds the bank of batches, and says conversion, gel and lateness.

Pure. Estimates go out once a minute. Where the mixing mark is missing, mixing is taken to have been
the honest work time before the first mark that followed it.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from firmware_host.config.schema import Cup, JobDescription
from firmware_host.core.bench_temperatures import BenchTemperatures
from firmware_host.core.cure_state import GEL_LIKELY, KICK_SURE, Seen
from firmware_host.core.cure_story import CureStory
from firmware_host.core.gel_said import estimated, forecast, placed
from firmware_host.core.thermal_history import ThermalBlock, ThermalHistory
from firmware_host.core.warmth import Warmth
from firmware_host.core.work_clock import Gates, WorkClock
from firmware_host.cure.ahead import burnt
from firmware_host.cure.certain import surely_comes_to_k
from firmware_host.cure.filter import CureFilter
from firmware_host.cure.foresee import shown_rise_k
from firmware_host.cure.known import Outlook, Temperatures
from firmware_host.history.prior import RatePrior
from firmware_host.model.channels import Role
from firmware_host.model.events import (
    CureEstimated,
    CureForeseen,
    CureMoved,
    CureState,
    GelForecast,
    GelPlaced,
)
from firmware_host.physics.kinetics import T20_K

SAY_EVERY_S = 60.0
GEL_SURE = 0.975
GEL_MOVED_S = 60.0
"""A gel that moved by less is not said again."""
PROVISIONAL_SHARE = 0.3
"""A pour that was not marked is uncertain by this share of the honest work time."""
LEAST_SHOWN_K = 3.0
"""Where one in ten healthy batches would show less rise than this, no kick means nothing."""
FORESEEN_GELS, FORESEEN_S = 2.0, 6.0 * 3600.0
PLAN_FACTOR = 1.5
"""Latest gel where the job states none: this much beyond the 95 % high at mixing."""
FED_BLOCK_S = 10.0
"""The bank moves every second block; no resin does anything faster."""
STALE_AFTER_S = 60.0
SETTLED_AFTER_S, SETTLED_BLOCK_S = 3.0 * 3600.0, 30.0
SOON_S, WARMS_ITSELF_K, REACH_K = 300.0, 3.0, 60.0
"""No laminate warms by more than the last in the first."""

CureEvent = CureEstimated | GelForecast | GelPlaced | CureMoved | CureForeseen


class CureWatch:
    """One job's cure."""

    def __init__(
        self,
        job: JobDescription,
        roles: tuple[Role, ...],
        learnt: RatePrior | None = None,
        names: tuple[str, ...] = (),
        poured_on: date | None = None,
    ) -> None:
        self._learnt = learnt
        self._clock: WorkClock | None = None
        has_cup = Role.CUP in roles
        self._job = replace(job, cup=(job.cup or Cup()) if has_cup else None)
        self.history = ThermalHistory(roles)
        self.mixed_s: float | None = None
        self.provisional = False
        """Mixing was not marked but inferred."""
        self.heated = False
        self.outlook: Outlook | None = None
        self.latest_gel_s: float | None = None
        self.gel_seen_s: float | None = None
        self.released = False
        """Vacuum was taken off."""
        self._filter: CureFilter | None = None
        self._zeros: tuple[float, ...] | None = None
        self._bench = BenchTemperatures(roles)
        self._next_say_s = 0.0
        self._said_s = 0.0
        self._placed_s: float | None = None
        self._warmth = Warmth()
        self._names = names or tuple(role.value for role in roles)
        self._poured_on = poured_on
        self.story = CureStory(job, poured_on)
        self._temps: Temperatures | None = None
        self.inhibitor: tuple[float, float, float] | None = None
        """Share of the inhibitor that is burnt, 5, 50, 95 %; None once the kick was seen."""
        self._shows = True

    @property
    def observable(self) -> bool:
        """Whether anything measured could show the kick."""
        roles = self.history.roles
        return Role.CUP in roles or (Role.PART in roles and self._shows)

    @property
    def state(self) -> CureState:
        """What is known of the resin, in one word."""
        return self.story.states.state

    @property
    def kicked_late(self) -> bool:
        """Whether it kicked after it had been called late."""
        return self.story.states.kicked_late

    def gates(self) -> Gates | None:
        """Give the gates of the work; None before mixing, or where no temperature is known."""
        return self._clock.gates(self.outlook, self._pour_sd_s()) if self._clock else None

    @property
    def gel_past(self) -> float | None:
        """Chance that the laminate has gelled; None where nothing can be said."""
        return self.outlook.gel_past if self.outlook else None

    @property
    def kicked(self) -> bool:
        """Whether the kick is said to have been seen."""
        return self.outlook is not None and self.outlook.gel_past >= KICK_SURE

    @property
    def peak_passed(self) -> bool:
        """Whether the heat of the kick has come and gone."""
        return self._warmth.peak_passed

    def begin(self, mixed_s: float, now_s: float, *, provisional: bool) -> None:
        """Start the clock at a pour, going through what has been measured since."""
        self.mixed_s, self.provisional = mixed_s, provisional
        self._next_say_s = self._said_s = now_s
        self._placed_s, self.gel_seen_s, self.latest_gel_s = None, None, None
        self._warmth, self.story = Warmth(), CureStory(self._job, self._poured_on)
        self._zeros = self.history.zeros(mixed_s, now_s)
        self._refeed()

    def gel_was_seen(self, time_s: float) -> None:
        """Take in a finger on the resin."""
        self.gel_seen_s = time_s
        if self._filter is not None:
            self._filter.gel_seen(time_s)
            self.outlook = self._filter.outlook()

    def dosed(self, percent: float) -> None:
        """Take the dose as it was poured: every batch of the bank is mixed anew with it."""
        poured = replace(self._job.job, initiator_percent=percent)
        if not self._job.resin.has_initiator or poured == self._job.job:
            return
        self._job = replace(self._job, job=poured)
        self._refeed()

    def block(self, time_s: float, temps_k: tuple[float | None, ...]) -> list[CureEvent]:
        """Take the means of one block in, and say what is due."""
        block = self.history.add(time_s, temps_k)
        if self.mixed_s is None:
            return []
        if self._zeros is None and (zeros := self.history.zeros(self.mixed_s, time_s)) is not None:
            self._zeros = zeros
            self._refeed()
        elif self._fed_at(time_s):
            self._feed(block)
        moved: list[CureEvent] = [*self.story.moved(time_s)]
        if self._filter is None or time_s < self._next_say_s:
            return moved
        self._next_say_s = time_s + SAY_EVERY_S
        return [*self._say(time_s), *moved, *self._foresee()]

    def _foresee(self) -> list[CureForeseen]:
        if self._filter is None or self._temps is None:
            return []
        return self.story.foresee(
            self._filter, self._temps, self.history.coldest(self._names, self._zeros)
        )

    def _settled(self, now_s: float) -> bool:
        """Tell whether the kick is long over, so that a look every half minute is plenty."""
        if self.heated or self.outlook is None or not self._warmth.peak_passed:
            return False
        return now_s - self.outlook.gel_s[1] > SETTLED_AFTER_S

    def _fed_at(self, now_s: float) -> bool:
        """Tell whether the bank takes this block: every second one, and the first after a gap."""
        every_s = SETTLED_BLOCK_S if self._settled(now_s) else FED_BLOCK_S
        return now_s % every_s == 0.0 or self.is_behind(now_s)

    def is_behind(self, now_s: float) -> bool:
        """Tell whether the resin has not been looked at lately: nobody watched until now."""
        return self._temps is not None and now_s - self._temps.time_s > STALE_AFTER_S

    def finish(self, now_s: float) -> list[CureEvent]:
        """Say the last word."""
        if self._filter is None or self.mixed_s is None:
            return []
        said = self._say(now_s)
        likely = self.outlook is not None and self.outlook.gel_past > 0.5
        if likely and not any(isinstance(event, GelPlaced) for event in said):
            said.append(self._place(now_s))
        return said

    def laminate_k(self) -> float | None:
        """Give the newest laminate temperature, zeroed."""
        return self._bench.laminate_k

    def surely_comes_to_k(self, hot_k: float) -> float | None:
        """Temperature that laminate or mould surely come to within five minutes.

        None where that is below `hot_k`, or nothing is certain. Only asked of a part that warms
        itself and may reach it: it costs as much as a minute of following.
        """
        temps = self._temps
        if self._filter is None or temps is None or temps.shop_sd_k + temps.zero_sd_k > 0.0:
            return None
        rise_k = temps.laminate_k - temps.shop_k
        likely = (self.gel_past or 0.0) > GEL_LIKELY and self._warmth.climbs
        if not likely or rise_k < WARMS_ITSELF_K or temps.laminate_k < hot_k - REACH_K:
            return None
        comes_to_k = surely_comes_to_k(self._filter, temps, SOON_S)
        return comes_to_k if comes_to_k is not None and comes_to_k > hot_k else None

    def _refeed(self) -> None:
        # What another bank said must not stand for this one, not even until the next minute.
        self._filter, self.outlook = None, None
        self._bench = BenchTemperatures(self.history.roles)
        if self.mixed_s is None:
            return
        self._clock = WorkClock(self._job, self._learnt, self.mixed_s)
        for block in self.history.since(self.mixed_s - 60.0):
            self._feed(block)
        if self._filter is None:
            return
        if self.gel_seen_s is not None:
            self._filter.gel_seen(self.gel_seen_s)
        self.outlook = self._filter.outlook()

    def _feed(self, block: ThermalBlock) -> None:
        if self.mixed_s is None:
            return
        temps = self._bench.take(block, self._zeros, heated=self.heated)
        if temps is None:
            return
        if self._filter is None:
            start = replace(temps, time_s=self.mixed_s)
            self._filter = CureFilter(self._job, self.mixed_s, start, self._pour_sd_s())
            self._plan_latest_gel()
            self._shows = self._shows_at(start)
        self._filter.advance(temps)
        if self._clock is not None:
            self._clock.take(temps.time_s, temps.laminate_k)
        if block.time_s >= self._next_say_s - 1.0 or self.outlook is None:
            self.outlook = self._filter.outlook()
        if self.kicked and not self.heated:
            gel_s = self.outlook.gel_s[1] if self.outlook else temps.time_s
            self._warmth.kick(temps, gel_s)
        self._warmth.take(temps)
        self._look(temps)

    def _look(self, temps: Temperatures) -> None:
        """Move the resin's state on."""
        if self.outlook is None or self.mixed_s is None:
            return
        self._temps = temps
        self.story.look(
            Seen(
                time_s=temps.time_s,
                outlook=self.outlook,
                mixed_s=self.mixed_s,
                latest_gel_s=self.latest_gel_s,
                witnessed=temps.stand_in_sd_k == 0.0 or temps.cup_k is not None,
                shows=self.observable,
                heated=self.heated,
                rise_k=temps.laminate_k - temps.shop_k,
                peak_rise_k=self._warmth.peak_rise_k,
                peak_passed=self._warmth.peak_passed,
                gel_seen=self.gel_seen_s is not None,
                released=self.released,
                limit_conversion=self._limit_at(temps.shop_k),
            ),
            temps,
        )

    def _shows_at(self, start: Temperatures) -> bool:
        """Tell whether the part would get warm enough for its own couple to see the kick."""
        if self._filter is None:
            return True
        span_s = FORESEEN_GELS * (self._filter.outlook().gel_s[2] - start.time_s)
        rise_k = shown_rise_k(self._filter.standing().bank, start.shop_k, min(span_s, FORESEEN_S))
        return rise_k >= LEAST_SHOWN_K

    def _limit_at(self, room_k: float) -> float:
        """Conversion at which the resin of the job file practically stops."""
        resin = self._job.resin
        return resin.conversion_limit_at_20c + resin.conversion_limit_per_k * (room_k - T20_K)

    def _pour_sd_s(self) -> float:
        """Doubt about the moment of mixing."""
        work_s = self._job.job.work_time_min * 60.0
        return PROVISIONAL_SHARE * work_s if self.provisional else 0.0

    def _plan_latest_gel(self) -> None:
        if self._filter is None or self.mixed_s is None or self.latest_gel_s is not None:
            return
        stated_min = self._job.limits.latest_gel_min
        if stated_min is not None:
            self.latest_gel_s = self.mixed_s + stated_min * 60.0
            return
        high_s = self._filter.outlook().gel_s[2]
        self.latest_gel_s = self.mixed_s + PLAN_FACTOR * (high_s - self.mixed_s)

    def _say(self, now_s: float) -> list[CureEvent]:
        if self._filter is None:
            return []
        self.outlook = outlook = self._filter.outlook()
        standing, weights = self._filter.standing(), self._filter.weights()
        self.inhibitor = None if self.kicked else burnt(standing, weights)
        between = [one for one in self._filter.crossed() if self._said_s < one.time_s < now_s]
        said: list[CureEvent] = [estimated(one.time_s, one.conversion) for one in between]
        said.append(estimated(now_s, outlook.conversion))
        self._said_s = now_s
        gel_s = outlook.gel_s[1]
        if outlook.gel_past < GEL_SURE:
            said.append(forecast(now_s, outlook, self.mixed_s or 0.0, self._pour_sd_s()))
        elif self._placed_s is None or abs(gel_s - self._placed_s) > GEL_MOVED_S:
            said.append(self._place(now_s))
        return said

    def _place(self, now_s: float) -> GelPlaced:
        if self.outlook is None or self.mixed_s is None:
            raise ValueError("a gel cannot be placed before anything was mixed")
        self._placed_s = self.outlook.gel_s[1]
        return placed(now_s, self.outlook, self.mixed_s)
