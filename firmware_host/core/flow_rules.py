"""Alarms of the bag between its drop tests: `bag_leaking` and `pump_trouble`, and their words.

Pure. One cause raises one alarm: what lies at the pump side is not called a leak, and a leak that
a running pump cannot hold is not called trouble of the pump. After gel air no longer gets into the
laminate, so a leak then ranks lower, and the text says why.
"""

from __future__ import annotations

import math

from firmware_host.config.schema import JobDescription
from firmware_host.core.alarm_board import AlarmBoard
from firmware_host.core.bag_watch import BagWatch
from firmware_host.core.cure_watch import CureWatch
from firmware_host.core.job_state import JobState
from firmware_host.model.events import AlarmChanged, LeakChecked, Phase, Verdict
from firmware_host.physics.atmosphere import SEA_LEVEL_PA
from firmware_host.stage.machine import WET
from firmware_host.vacuum.excursion import Cause
from firmware_host.vacuum.flow import FlowWatch, Given
from firmware_host.vacuum.isolated_rate import Rate
from firmware_host.vacuum.outlook import leak_cm3_per_min, minutes_to_limit
from firmware_host.vacuum.start import StartProof

ENDED = (Phase.RELEASED, Phase.CLOSED, Phase.ABANDONED)
BAG_ALARMS = ("bag_leaking", "pump_trouble")
TROUBLE_WORDS = {
    Cause.BACK_FLOW: "The pump side rose above the bag: the pump stands or is worn, and air comes "
    "back through it.",
    Cause.PUMP_WEAK: "The pump side lost vacuum and the bag follows it: the pump is unplugged, "
    "hot or worn.",
    Cause.CUT_OFF: "The bag rises and its pump side does not: the hose is pinched or blocked, the "
    "valve was left shut, or the bag's gauge drifts.",
    Cause.NO_START: "Vacuum does not build: the valve is shut, the hose off, or the pump is not "
    "pumping.",
}


class FlowRules:
    """Turns what the flow shows into conditions of alarms."""

    def __init__(
        self,
        job: JobDescription,
        bag: BagWatch,
        cure: CureWatch,
        state: JobState,
        board: AlarmBoard,
    ) -> None:
        self._job = job
        self._bag = bag
        self._cure = cure
        self._state = state
        self._board = board
        self._test: LeakChecked | None = None
        """The last drop test that came to a verdict."""
        self.flow = FlowWatch(job.bag.drop_limit_pa_per_s)
        self._start = StartProof()
        self._bag_pa: float | None = None
        self._opened_s = -math.inf
        """When a leak last opened in a drop test: what was tight before says nothing of it."""

    def block(
        self, now_s: float, bag_pa: float | None, pump_pa: float | None, *, fresh: bool = True
    ) -> list[AlarmChanged]:
        """Take the block means of bag and pump side; fresh where the bag was read in this block."""
        self.flow.block(bag_pa, pump_pa, self._given(fresh=fresh))
        self._prove_start(now_s, bag_pa, pump_pa)
        self._bag_pa = bag_pa
        if self._state.phase in ENDED:
            over = [self._board.condition(n, now_s, holds=False) for n in BAG_ALARMS]
            return [change for changes in over for change in changes]
        if bag_pa is None:
            return []
        return [*self._leaking(now_s, bag_pa), *self._trouble(now_s)]

    def each_second(self, now_s: float) -> list[AlarmChanged]:
        """Call a leak that opened in a drop test at once."""
        opened, self._bag.opened = self._bag.opened, None
        if opened is None or not self._given().watched:
            return []
        self._opened_s = now_s
        self.flow.opened(opened)
        return self._leaking(now_s, None)

    def after_test(self, test: LeakChecked, now_s: float) -> list[AlarmChanged]:
        """Follow a drop test that came to a verdict."""
        self._test = test
        opened = self.flow.leak is not None and self._opened_s >= test.start_s
        if test.verdict is Verdict.TIGHT and test.final and not opened:
            self.flow.forget_leak()
        return self._leaking(now_s, None)

    def known_leak(self) -> Rate | None:
        """Give the newest estimate of air leaking in, running or tested; None where none is."""
        return self.flow.leak or self.flow.rate or _leak_of(self._test)

    @property
    def bag_pa(self) -> float | None:
        """The newest block mean of the bag."""
        return self._bag_pa

    def _prove_start(self, now_s: float, bag_pa: float | None, pump_pa: float | None) -> None:
        """Watch a wet bag from its closing until it is below its limit for the first time."""
        if self._state.phase is not Phase.DRAWDOWN or self._bag.was_below:
            self._start.forget()
            return
        pump_on_s = self._state.pump_on_s
        pulled_s = None if pump_on_s is None else now_s - max(pump_on_s, self._state.since_s)
        self._start.block(bag_pa, pump_pa, pulled_s)

    def _given(self, *, fresh: bool = True) -> Given:
        bag, band = self._bag, self._job.bag.pump_cycle_mbar
        test = bag.test
        return Given(
            watched=bag.was_below and self._state.phase in (*WET, Phase.DRY_BAG),
            shut=test is not None and test.end_s is None,
            pump_on=self._state.pump_on_s is not None,
            band_pa=(band[0] * 100.0, band[1] * 100.0) if band is not None else None,
            last_leak=_leak_of(self._test),
            laminate_k=self._cure.laminate_k(),
            fresh=fresh,
        )

    def _leaking(self, now_s: float, bag_pa: float | None) -> list[AlarmChanged]:
        found = self.flow.leak if self.flow.trouble is None else None
        by_test = self._test is not None and self._test.verdict is Verdict.LEAKING
        return self._board.condition(
            "bag_leaking",
            now_s,
            holds=found is not None or by_test or self._start.cause is Cause.LEAK,
            text=self._words(found, bag_pa),
            priority="medium" if self._cure.kicked else None,
        )

    def _words(self, found: Rate | None, bag_pa: float | None) -> str:
        limit = self._job.bag.drop_limit_pa_per_s
        if found is not None:
            rise = found.rise_pa_per_s
            head = f"{self.flow.leak_how.capitalize()}: air leaks in at about {rise:.1f} Pa/s"
        elif self._test is not None:
            rise = self._test.rise_pa_per_s or 0.0
            head = f"Drop test {self._test.number}: air leaks in at {rise:.1f} Pa/s"
        else:
            return f"The bag came to rest above its limit: air leaks in. {self.kick_words()}"
        ahead = self._ahead_words(found, bag_pa)
        return (
            f"{head}{self._air_words(rise)}, limit {limit:.1f} Pa/s{self._rule_words()}. "
            f"{ahead}{self.kick_words()}"
        )

    def _ahead_words(self, found: Rate | None, bag_pa: float | None) -> str:
        """Say how long the vacuum lasts at this leak with nothing pulling."""
        test = self._test
        if found is not None:
            low, high = found.low_pa_per_s, found.high_pa_per_s
        elif test is not None and test.rise_low_pa_per_s is not None:
            low, high = test.rise_low_pa_per_s, test.rise_high_pa_per_s or 0.0
        else:
            return ""
        level_pa = bag_pa if bag_pa is not None else self._bag.newest_pa
        if level_pa is None:
            return ""
        ahead = minutes_to_limit(level_pa, self._bag.limit_pa, low, high, SEA_LEVEL_PA)
        if ahead is None:
            return ""
        return f"Without the pump the limit is reached in {_minutes(*ahead)}. "

    def _trouble(self, now_s: float) -> list[AlarmChanged]:
        cause = self.flow.trouble
        if cause is None and self._start.cause in TROUBLE_WORDS:
            cause = self._start.cause
        return self._board.condition(
            "pump_trouble",
            now_s,
            holds=cause is not None,
            text=f"{TROUBLE_WORDS[cause]} {self.kick_words()}" if cause is not None else "",
        )

    def _air_words(self, rise_pa_per_s: float) -> str:
        volume_l = self._job.bag.free_volume_l
        if volume_l is None:
            return ""
        air = leak_cm3_per_min(rise_pa_per_s, volume_l, self._cure.laminate_k(), None, SEA_LEVEL_PA)
        return f" (about {air:.0f} cm3 of air a minute)"

    def _rule_words(self) -> str:
        """Name the person's rule, where it says more than the limit does."""
        rule = self._job.bag.drop_rule
        return "" if rule.endswith("Pa/s") else f" ({rule})"

    def kick_words(self) -> str:
        """Say how much vacuum still matters."""
        if self._cure.gel_past is None:
            return "The kick is not watched."
        if self._cure.kicked:
            return "The resin has kicked: air no longer gets into it, a leak matters less now."
        return "The resin has not kicked: vacuum still matters."


def _minutes(soonest_min: float, latest_min: float | None) -> str:
    if latest_min is None:
        return f"{soonest_min:.0f} min or more"
    if round(soonest_min) == round(latest_min):
        return f"{max(soonest_min, 1.0):.0f} min"
    return f"{soonest_min:.0f} to {latest_min:.0f} min"


def _leak_of(test: LeakChecked | None) -> Rate | None:
    if test is None or test.rise_pa_per_s is None:
        return None
    return Rate(
        rise_pa_per_s=test.rise_pa_per_s,
        low_pa_per_s=test.rise_low_pa_per_s or 0.0,
        high_pa_per_s=test.rise_high_pa_per_s or 0.0,
    )
