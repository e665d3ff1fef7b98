"""When each alarm's cause holds. One place, so that one cause raises one alarm.

Pure. A channel that is not believed neither raises nor clears a process alarm.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from firmware_host.config.schema import JobDescription
from firmware_host.core.alarm_board import AlarmBoard
from firmware_host.core.bag_watch import BagWatch
from firmware_host.core.channel_watch import FaultFound
from firmware_host.core.cure_state import KICK_SURE
from firmware_host.core.cure_watch import SOON_S, CureWatch
from firmware_host.core.flow_rules import ENDED, FlowRules
from firmware_host.core.job_state import JobState
from firmware_host.core.leaps import Leaps
from firmware_host.model.channels import Quantity, channel_named
from firmware_host.model.events import AlarmChanged, CureState, Event, LeakChecked, Phase, Verdict
from firmware_host.model.samples import Care, SelfCheck
from hardware.units import ZERO_CELSIUS_K

ENDED_WITH_THE_JOB = (
    "vacuum_lost",
    "bag_leaking",
    "pump_trouble",
    "exotherm_late",
    "exotherm_stalled",
)
RELEASE_WAIT_S = 60.0
"""Once vacuum may come off, its loss waits this long for the mark that says it was meant."""
REST_AFTER_GEL_S = 600.0
HOT_HYSTERESIS_K = 2.0
HOT_CUP_K = 100.0 + ZERO_CELSIUS_K
CUP_COOL_K = 60.0 + ZERO_CELSIUS_K
"""Below this it may be carried out; a cup about 100 degC does not ring again and again."""
ALARM_OF = {
    Care.PHONE_PATH: "phone_path_down",
    Care.RECORDING: "recording_fault",
    Care.DISK_DAY: "disk_filling",
    Care.DISK_HOURS: "disk_nearly_full",
}


class Rules:
    """Turns what is known into conditions of alarms."""

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
        self.flow = FlowRules(job, bag, cure, state, board)
        self._leaps = Leaps()
        self._late_said = False
        self._hot: set[str] = set()
        """Channels above the highest temperature, when last believed."""
        self._surely_hot_until_s = -math.inf

    def each_second(self, now_s: float, *, bag_known: bool) -> list[AlarmChanged]:
        """Judge what must be said within seconds."""
        return [
            *self._vacuum_lost(now_s, bag_known=bag_known),
            *self.flow.each_second(now_s),
            *self._exotherm_late(now_s),
            *self._exotherm_stalled(now_s),
        ]

    def each_block(self, now_s: float, temps_k: Mapping[str, float | None]) -> list[AlarmChanged]:
        """Judge the believed means of laminate and mould, by channel; None is not believed.

        A couple that died hot keeps a raised alarm up: nobody has seen it cool. One that is sure to
        pass the limit within five minutes is called at once, and for as long.
        """
        temps_k = self._leaps.sure(now_s, temps_k)
        limit_k = self._job.limits.highest_temperature_c + ZERO_CELSIUS_K
        raised = self._board.active("over_temperature")
        least_k = limit_k - HOT_HYSTERESIS_K if raised else limit_k
        unseen = {name for name in self._hot if raised and temps_k[name] is None}
        believed = {name: temp_k for name, temp_k in temps_k.items() if temp_k is not None}
        self._hot = unseen | {name for name, temp_k in believed.items() if temp_k > least_k}
        if not believed:
            return []
        hottest_k = max(believed.values())
        if self._hot:
            self._surely_hot_until_s = -math.inf
        elif self._cure.surely_comes_to_k(limit_k) is not None:
            self._surely_hot_until_s = now_s + SOON_S
        where = "above" if self._hot else f"surely within {SOON_S / 60.0:.0f} min above"
        return self._board.condition(
            "over_temperature",
            now_s,
            holds=bool(self._hot) or now_s < self._surely_hot_until_s,
            text=f"Laminate or mould at {hottest_k - ZERO_CELSIUS_K:.1f} degC, {where} the job's "
            f"limit of {self._job.limits.highest_temperature_c:.0f} degC.",
        )

    def cups(self, now_s: float, temps_k: Mapping[str, float | None]) -> list[AlarmChanged]:
        """Judge the believed means of the left-over resin, by channel; None is not believed."""
        said: list[AlarmChanged] = []
        for name, temp_k in temps_k.items():
            if temp_k is not None:
                hot = self._board.active("cup_hot", name)
                said += self._board.condition(
                    "cup_hot",
                    now_s,
                    holds=temp_k > (CUP_COOL_K if hot else HOT_CUP_K),
                    channel=name,
                    text=f"Left-over resin at {temp_k - ZERO_CELSIUS_K:.0f} degC.",
                )
        return said

    def sensor(self, channel: str, change: FaultFound, now_s: float) -> list[AlarmChanged]:
        """Turn a channel's fault, or its end, into an alarm."""
        return self._board.condition(
            "sensor_fault",
            now_s,
            holds=change.end_s is None,
            since_s=change.end_s if change.end_s is not None else change.start_s,
            channel=channel,
            priority="low" if self._may_sleep(channel) else None,
            text=f"{channel} reads {change.kind.replace('_', ' ')} for "
            f"{now_s - change.start_s:.0f} s; what it measured is not watched.",
        )

    def _may_sleep(self, channel: str) -> bool:
        """Whether nobody need get up for a channel: past the peak, or a gauge past the kick."""
        if self._state.phase in (Phase.COOLING, *ENDED):
            return True
        quantity = channel_named(channel).role.quantity
        return self._state.phase is Phase.KICKED and quantity is Quantity.PRESSURE

    def self_check(self, check: SelfCheck, now_s: float) -> list[AlarmChanged]:
        """Turn what fails in the daemon itself, or works again, into an alarm."""
        return self._board.condition(
            ALARM_OF[check.what], now_s, holds=not check.ok, text=check.text
        )

    def after_tests(self, tests: Sequence[LeakChecked], now_s: float) -> list[Event]:
        """Follow drop tests with what they mean for the bag."""
        said: list[Event] = []
        for test in tests:
            said.append(test)
            if test.verdict is not Verdict.UNDECIDED:
                said += self.flow.after_test(test, now_s)
        return said

    def after_mark(self, said: Sequence[Event], now_s: float) -> list[Event]:
        """Follow a mark with the alarms that it settles."""
        followed: list[Event] = []
        for event in said:
            if isinstance(event, LeakChecked):
                followed += self.after_tests([event], now_s)
            else:
                followed.append(event)
        if self._state.phase in ENDED:
            for name in ENDED_WITH_THE_JOB:
                followed += self._board.condition(name, now_s, holds=False)
        return followed

    def _vacuum_lost(self, now_s: float, *, bag_known: bool) -> list[AlarmChanged]:
        if not bag_known:
            return []
        since_s = self._bag.above_since_s
        holds = self._state.wet and since_s is not None
        raised = self._board.active("vacuum_lost")
        if since_s is not None and not raised and self._may_release(now_s):
            holds = holds and now_s - since_s >= RELEASE_WAIT_S
        return self._board.condition(
            "vacuum_lost",
            now_s,
            holds=holds,
            since_s=since_s if holds else self._bag.below_again_s,
            text=f"Bag above {self._bag.limit_pa / 100.0:.0f} mbar for "
            f"{now_s - (since_s or now_s):.0f} s. {self.flow.kick_words()}",
        )

    def _may_release(self, now_s: float) -> bool:
        """Whether a person could be taking the vacuum off on purpose."""
        if self._state.phase is Phase.COOLING:
            return True
        outlook = self._cure.outlook
        past = outlook is not None and outlook.gel_past > 0.5
        return past and outlook is not None and now_s - outlook.gel_s[1] >= REST_AFTER_GEL_S

    def _exotherm_late(self, now_s: float) -> list[AlarmChanged]:
        latest_s, past = self._cure.latest_gel_s, self._cure.gel_past
        if latest_s is None or past is None or self._cure.is_behind(now_s):
            return []
        if self._late_said and not self._board.active("exotherm_late"):
            return []  # once in a pour: likely gelled and then not is no second alarm
        enough = KICK_SURE if self._late_said else 0.5
        late = self._state.wet and now_s >= latest_s and past <= enough
        self._late_said |= late
        raise_now = late and not self._board.active("exotherm_late")
        after_min = (latest_s - (self._cure.mixed_s or 0.0)) / 60.0
        return self._board.condition(
            "exotherm_late",
            now_s,
            holds=late,
            text=f"No gel seen {after_min:.0f} min after mixing, the latest of this job; "
            f"chance that it has gelled {past:.0%}. {self._advice(wanted=raise_now)}".rstrip(),
            action=self._cure.story.action(),
        )

    def _advice(self, *, wanted: bool) -> str:
        """Put what differs and what warming buys into words, for an alarm that is raised now."""
        return self._cure.story.advice() if wanted else ""

    def _exotherm_stalled(self, now_s: float) -> list[AlarmChanged]:
        outlook = self._cure.outlook
        if outlook is None:
            return []
        low, _, high = outlook.conversion
        died = self._cure.state is CureState.DIED
        return self._board.condition(
            "exotherm_stalled",
            now_s,
            holds=self._state.wet and died,
            action=self._cure.story.action() if died else None,
            text=f"It kicked, then practically stopped: {low:.0%} to {high:.0%} cured, and the "
            "couples show no more heat.",
        )
