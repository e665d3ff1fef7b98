"""The resin's word with its reason, and its way from here: what a person is told of the cure.

Pure. The states are judged elsewhere; here each gets the words it rests on, each change of it is an
event, and the looks ahead and the advice for a late or dead kick are kept.
"""

from __future__ import annotations

from datetime import date

from firmware_host.batch.post_cure import schedule_words
from firmware_host.config.schema import JobDescription
from firmware_host.core.cure_advice import Felt, differences, warming_words, what_to_do
from firmware_host.core.cure_state import (
    Condition,
    CureStateWatch,
    Seen,
    policy_at,
    pull_conditions,
    rest_conditions,
)
from firmware_host.core.foresight import Foresight, Scene
from firmware_host.cure.filter import CureFilter
from firmware_host.cure.known import Temperatures
from firmware_host.cure.states import AFTER_KICK, NOT_KICKED
from firmware_host.model.events import CureForeseen, CureMoved, CureState
from hardware.units import ZERO_CELSIUS_K

ENDING = (CureState.COOLING, CureState.MAY_REST, CureState.MAY_PULL)
CANNOT_SEE = (
    "cannot see the kick: this part warms too little, or no couple is on it",
    "put a witness cup beside it: 20 to 50 g of the same mix, insulated, with a couple",
)


class CureStory:
    """One pour's states with their reasons."""

    def __init__(self, job: JobDescription, poured_on: date | None) -> None:
        self._job = job
        self._poured_on = poured_on
        self.states = CureStateWatch()
        self.foresight = Foresight(job)
        self.why: tuple[str, ...] = ()
        self._told: tuple[CureState, bool] = (CureState.WAITING, False)
        self._seen: Seen | None = None
        self._sum_k_s, self._sum_s = 0.0, 0.0
        self._felt_s: float | None = None

    def look(self, seen: Seen, temps: Temperatures) -> None:
        """Take one look at the resin."""
        self._felt(temps)
        self.states.look(seen)
        self._seen = seen
        self.why = self._reasons(seen) + self._to_the_end(seen, temps) + _unmeasured(temps)

    def moved(self, now_s: float) -> list[CureMoved]:
        """Say that the state changed, where it did since this was last asked."""
        told = (self.states.state, self.states.kicked_late)
        if told == self._told:
            return []
        self._told = told
        return [CureMoved(time_s=now_s, state=told[0], late=told[1], why=self.why)]

    def foresee(
        self, batches: CureFilter, temps: Temperatures, governs: str | None
    ) -> list[CureForeseen]:
        """Look ahead where it is due."""
        seen = self._seen
        if seen is None:
            return []
        found = self.foresight.look(
            batches,
            Scene(
                now_s=seen.time_s,
                mixed_s=seen.mixed_s,
                gel_s=seen.outlook.gel_s[1],
                state=self.states.state,
                room_k=temps.shop_k,
                laminate_k=temps.laminate_k,
                heated=seen.heated,
                peak_passed=seen.peak_passed,
                governs=governs,
                policy=policy_at(seen.limit_conversion),
            ),
        )
        return [] if found is None else [found]

    def advice(self) -> str:
        """Say what differs from the plan, and what warming buys."""
        felt = Felt(
            laminate_k=self._sum_k_s / self._sum_s if self._sum_s > 0.0 else None,
            poured_on=self._poured_on,
        )
        differs = "; ".join(differences(self._job, felt))
        heated = self._seen is not None and self._seen.heated
        buys = "" if heated else warming_words(self.foresight.newest)
        return " ".join(
            text
            for text in (f"{differs[:1].upper()}{differs[1:]}." if differs else "", buys)
            if text
        )

    def action(self) -> str:
        """Say what to do with a part that is late or has died."""
        return what_to_do(self._job, self.foresight.newest)

    def _felt(self, temps: Temperatures) -> None:
        if self._felt_s is not None and temps.stand_in_sd_k == 0.0:
            span_s = min(max(temps.time_s - self._felt_s, 0.0), 60.0)
            self._sum_k_s += temps.laminate_k * span_s
            self._sum_s += span_s
        self._felt_s = temps.time_s

    def _reasons(self, seen: Seen) -> tuple[str, ...]:
        state = self.states.state
        if state is CureState.NOT_OBSERVABLE:
            return CANNOT_SEE
        if state is CureState.DOUBTED:
            return ("no couple that could show the kick is believed",)
        if state in NOT_KICKED:
            return self._waiting_for(seen)
        if state is CureState.DIED:
            low, _, high = seen.outlook.conversion
            return (f"it kicked and stopped at {low:.0%} to {high:.0%}, well short of the end",)
        if state is CureState.MAY_PULL:
            return tuple(condition.words for condition in pull_conditions(seen))
        if state is CureState.MAY_REST:
            return _still_missing(pull_conditions(seen), "to pull: ") or tuple(
                condition.words for condition in rest_conditions(seen)
            )
        assert state in AFTER_KICK, state
        return _still_missing(rest_conditions(seen), "for vacuum off: ")

    def _to_the_end(self, seen: Seen, temps: Temperatures) -> tuple[str, ...]:
        """Say how far it is from what the job asks for in the end, once its peak is past."""
        if self.states.state not in ENDING:
            return ()
        room_k = temps.shop_k
        words = schedule_words(self._job, seen.outlook.conversion[0], room_k)
        return (words,) if words else ()

    def _waiting_for(self, seen: Seen) -> tuple[str, ...]:
        if self.states.state is CureState.WAITING:
            return ()
        chance = f"chance that it has gelled {seen.outlook.gel_past:.0%}"
        if self.states.state is CureState.LATE and seen.is_past_latest:
            return ("past the latest gel time of this job", chance)
        return (f"{seen.outlook.clock_past:.0%} of such batches would have gelled by now", chance)


def _unmeasured(temps: Temperatures) -> tuple[str, ...]:
    """Say what stands for a room that no couple measures, and for a zero that nobody knows."""
    said: list[str] = []
    if temps.shop_sd_k > 0.0:
        room_c = temps.shop_k - ZERO_CELSIUS_K
        said.append(
            f"the shop is not measured: taken as {room_c:.0f} degC, "
            f"give or take {temps.shop_sd_k:.1f}"
        )
    if temps.zero_sd_k > 0.0:
        said.append(
            "the part's couple was silent and came back reading elsewhere: another one? "
            f"its zero may be off by {temps.zero_sd_k:.0f} K"
        )
    return tuple(said)


def _still_missing(conditions: tuple[Condition, ...], what_for: str) -> tuple[str, ...]:
    missing = tuple(one.words for one in conditions if not one.holds)
    if not missing:
        return ()
    first = "gel and peak past" if missing[0].startswith("gel and peak") else missing[0]
    return (what_for + "wanted " + first, *missing[1:])
