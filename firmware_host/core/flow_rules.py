"""Alarms of the bag between its drop tests: `bag_leaking` and `pump_trouble`, and their words.

Pure. One cause raises one alarm: what lies at the pump side is not called a leak, and a leak that
a running pump cannot hold is not called trouble of the pump. After gel air no longer gets into the
laminate, so a leak then ranks lower, and the text says why.
"""

from __future__ import annotations

from firmware_host.config.schema import JobDescription
from firmware_host.core.alarm_board import AlarmBoard
from firmware_host.core.bag_watch import BagWatch
from firmware_host.core.cure_watch import CureWatch
from firmware_host.core.job_state import JobState
from firmware_host.model.events import AlarmChanged, LeakChecked, Phase, Verdict
from firmware_host.physics.gas import leak_throughput_pa_m3_per_s, room_air_cm3_per_min
from firmware_host.stage.machine import WET
from firmware_host.vacuum.excursion import Cause
from firmware_host.vacuum.flow import FlowWatch, Given
from firmware_host.vacuum.isolated_rate import Rate
from firmware_host.vacuum.outlook import minutes_to_limit

STANDARD_ROOM_PA = 101325.0
ENDED = (Phase.RELEASED, Phase.CLOSED, Phase.ABANDONED)
TROUBLE_WORDS = {
    Cause.BACK_FLOW: "The pump side rose above the bag: the pump stands or is worn, and air comes "
    "back through it.",
    Cause.PUMP_WEAK: "The pump side lost vacuum and the bag follows it: the pump is unplugged, "
    "hot or worn.",
    Cause.CUT_OFF: "The bag rises and its pump side does not: the hose is pinched or blocked, or "
    "the valve was left shut.",
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

    def block(
        self, now_s: float, bag_pa: float | None, pump_pa: float | None
    ) -> list[AlarmChanged]:
        """Take the block means of bag and pump side."""
        self.flow.block(bag_pa, pump_pa, self._given())
        if bag_pa is None or self._state.phase in ENDED:
            return []
        return [*self._leaking(now_s, bag_pa), *self._trouble(now_s)]

    def after_test(self, test: LeakChecked, now_s: float) -> list[AlarmChanged]:
        """Follow a drop test that came to a verdict."""
        self._test = test
        if test.verdict is Verdict.TIGHT and test.final:
            self.flow.forget_leak()
        return self._leaking(now_s, None)

    def _given(self) -> Given:
        bag, band = self._bag, self._job.bag.pump_cycle_mbar
        test = bag.test
        leak = self._test.rise_pa_per_s if self._test is not None else None
        return Given(
            watched=bag.was_below and self._state.phase in (*WET, Phase.DRY_BAG),
            shut=test is not None and test.end_s is None,
            pump_on=self._state.pump_on_s is not None,
            band_pa=(band[0] * 100.0, band[1] * 100.0) if band is not None else None,
            last_leak_pa_per_s=leak,
            laminate_k=self._cure.laminate_k(),
        )

    def _leaking(self, now_s: float, bag_pa: float | None) -> list[AlarmChanged]:
        found = self.flow.leak if self.flow.trouble is None else None
        by_test = self._test is not None and self._test.verdict is Verdict.LEAKING
        return self._board.condition(
            "bag_leaking",
            now_s,
            holds=found is not None or by_test,
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
            return ""
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
        ahead = minutes_to_limit(level_pa, self._bag.limit_pa, low, high)
        if ahead is None:
            return ""
        return f"Without the pump the limit is reached in {_minutes(*ahead)}. "

    def _trouble(self, now_s: float) -> list[AlarmChanged]:
        cause = self.flow.trouble
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
        flow = leak_throughput_pa_m3_per_s(rise_pa_per_s, volume_l / 1000.0)
        return f" (about {room_air_cm3_per_min(flow, STANDARD_ROOM_PA):.0f} cm3 of air a minute)"

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
