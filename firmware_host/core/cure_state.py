"""Looks at the resin once a block and moves its state: what each finding takes.

Pure. The chances are the bank's; the rest is policy, and stands here with its numbers. Vacuum may
come off when gel and peak are past, the part is near room, its conversion is surely far enough and
three gel times have gone by; the part may be pulled when it is as far as this room lets it go.
"""

from __future__ import annotations

from dataclasses import dataclass

from firmware_host.cure.known import Outlook
from firmware_host.cure.states import AFTER_KICK, Finding, advance, may_move
from firmware_host.model.events import CureState

KICK_SURE = 0.95
GEL_LIKELY = 0.5
TAKEN_BACK_BELOW = 0.3
"""A kick that later readings make this unlikely was none: a lamp, a couple that lied."""
CLOCKS = CLOCK_LATE, CLOCK_OUT = 0.95, 0.99
"""Share of the batches that the job file may mean which would have gelled: 1.645 and
2.33 standard deviations of an uncertainty that holds 0.20 for the law itself."""
DETECT_S = 330.0
"""A kick shows some minutes after its gel: a clock that ran out is only said after so long."""
DEATH_LIKELY, DEATH_UNLIKELY = 0.5, 0.2
DEATH_HOLDS_S = 1200.0
"""A stop must be believed for this long: a false call costs more than ten minutes."""
DEATH_LEAST_RISE_K = 0.7
"""Twice what a couple may be off by: less warmth tells a dead kick from a slow one by noise."""
NEAR_ROOM_K = 5.0
REST_CONVERSION, REST_SHARE = 0.60, 0.85
"""Low end of the conversion; in a cold room no more than this share of where it stops."""
REST_GEL_TIMES = 3.0
PULL_SHARE = 0.88
"""Of the conversion at which this resin stops in this room."""
PULL_GEL_TIMES = 6.0
ONWARD = (Finding.PEAK_PAST, Finding.RESTING, Finding.HARD)
"""All that is still found once the vacuum is off a part that kicked."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Policy:
    """When vacuum may come off and the part be pulled, in one room."""

    near_room_k: float
    rest_conversion: float
    """Low end of the conversion; in a cold room no more than a share of where it stops."""
    rest_gel_times: float
    pull_conversion: float
    pull_gel_times: float


def policy_at(limit_conversion: float) -> Policy:
    """Give the policy where the cure stops at a conversion."""
    return Policy(
        near_room_k=NEAR_ROOM_K,
        rest_conversion=min(REST_CONVERSION, REST_SHARE * limit_conversion),
        rest_gel_times=REST_GEL_TIMES,
        pull_conversion=PULL_SHARE * limit_conversion,
        pull_gel_times=PULL_GEL_TIMES,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Condition:
    """One of the things that must hold before vacuum comes off, or the part."""

    holds: bool
    words: str


def rest_conditions(seen: Seen) -> tuple[Condition, ...]:
    """List what must hold before vacuum comes off."""
    policy = policy_at(seen.limit_conversion)
    return _conditions(seen, policy.rest_conversion, policy.rest_gel_times)


def pull_conditions(seen: Seen) -> tuple[Condition, ...]:
    """List what must hold before the part is pulled."""
    policy = policy_at(seen.limit_conversion)
    return _conditions(seen, policy.pull_conversion, policy.pull_gel_times)


def _conditions(seen: Seen, conversion: float, gel_times: float) -> tuple[Condition, ...]:
    low = seen.outlook.conversion[0]
    since_s = seen.time_s - seen.mixed_s
    wanted_s = gel_times * max(seen.outlook.gel_s[2] - seen.mixed_s, 60.0)
    over = "heat is on" if seen.heated else f"{max(seen.rise_k, 0.0):.0f} K over shop"
    near = over if seen.witnessed else "no couple on the part believed"
    cool = seen.witnessed and not seen.heated and seen.rise_k <= NEAR_ROOM_K
    return (
        Condition(holds=seen.peak_passed, words="gel and peak are past"),
        Condition(holds=cool, words=f"{near} (up to {NEAR_ROOM_K:.0f})"),
        Condition(holds=low >= conversion, words=f"at least {low:.0%} cured ({conversion:.0%})"),
        Condition(
            holds=since_s >= wanted_s,
            words=f"{since_s / 3600.0:.1f} h since mixing ({wanted_s / 3600.0:.1f})",
        ),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Seen:
    """What one look rests on."""

    time_s: float
    outlook: Outlook
    mixed_s: float
    latest_gel_s: float | None
    witnessed: bool
    """At least one couple that could show the kick is believed."""
    shows: bool
    """This part, or its cup, gets warm enough to be seen."""
    heated: bool
    rise_k: float
    peak_rise_k: float
    peak_passed: bool
    gel_seen: bool
    released: bool = False
    """Vacuum is off: couples are taken along, and what they show from then on proves nothing."""
    limit_conversion: float
    """Where the cure practically stops in this room."""

    @property
    def is_past_latest(self) -> bool:
        """Whether the job's latest gel has gone by."""
        return self.latest_gel_s is not None and self.time_s >= self.latest_gel_s


class CureStateWatch:
    """State of one pour."""

    def __init__(self) -> None:
        self.state = CureState.WAITING
        self.kicked_late = False
        """It kicked after it had been called late."""
        self._was_late = False
        self._since_s: dict[float, float] = {}
        """Since when each share of the batches would have gelled without a kick."""
        self._dead_since_s: float | None = None

    def look(self, seen: Seen) -> None:
        """Move on by one look."""
        findings = self._findings(seen)
        if seen.released and self.state in AFTER_KICK:
            findings = [finding for finding in findings if finding in ONWARD]
        for finding in findings:
            if may_move(self.state, finding):
                self.kicked_late |= finding is Finding.KICK and self._was_late
                self.state = advance(self.state, finding)
                self._was_late |= self.state in (CureState.LATE, CureState.NO_KICK)

    def _findings(self, seen: Seen) -> list[Finding]:
        """List what was found; the later ones weigh more."""
        if seen.gel_seen or seen.outlook.gel_past >= KICK_SURE:
            return self._after_kick(seen)
        if self.state in AFTER_KICK:
            unsaid = seen.outlook.gel_past < TAKEN_BACK_BELOW
            return [Finding.WATCHED] if unsaid else []
        if not seen.witnessed:
            return [Finding.NO_WITNESS]
        return [self._before_kick(seen)]

    def _before_kick(self, seen: Seen) -> Finding:
        unlikely = seen.outlook.gel_past <= GEL_LIKELY
        late, out = (self._stood(seen, share, unlikely=unlikely) for share in CLOCKS)
        if out:
            return Finding.CLOCK_RUN_OUT
        if self._was_late:
            return Finding.LATE  # until it kicks: likely gelled is not yet seen to have kicked
        if late or (unlikely and seen.is_past_latest):
            return Finding.LATE
        return Finding.WATCHED if seen.shows else Finding.TOO_LITTLE_TO_SEE

    def _stood(self, seen: Seen, share: float, *, unlikely: bool) -> bool:
        """Tell whether so many batches would have gelled for as long as a kick takes to show."""
        if not (unlikely and seen.shows and seen.outlook.clock_past >= share):
            self._since_s.pop(share, None)
            return False
        return seen.time_s - self._since_s.setdefault(share, seen.time_s) >= DETECT_S

    def _after_kick(self, seen: Seen) -> list[Finding]:
        found = [Finding.KICK]
        if self._dead(seen):
            return [*found, Finding.DEATH]
        if seen.outlook.died < DEATH_UNLIKELY or seen.heated:
            found.append(Finding.LIVES)
        if not seen.witnessed and not seen.peak_passed:
            found.append(Finding.NO_WITNESS)
        if seen.peak_passed:
            found.append(Finding.PEAK_PAST)
        if seen.peak_passed and self.state is not CureState.DIED:
            found += self._rests(seen)
        return found

    def _rests(self, seen: Seen) -> list[Finding]:
        found = []
        if all(condition.holds for condition in rest_conditions(seen)):
            found.append(Finding.RESTING)
            if all(condition.holds for condition in pull_conditions(seen)):
                found.append(Finding.HARD)
        return found

    def _dead(self, seen: Seen) -> bool:
        """Tell whether the stop has been believed long enough, by couples that were believed."""
        sure = (
            seen.outlook.died >= DEATH_LIKELY
            and seen.peak_passed
            and seen.witnessed
            and not seen.heated
            and seen.peak_rise_k >= DEATH_LEAST_RISE_K
        )
        if not sure:
            self._dead_since_s = None
            return False
        if self._dead_since_s is None:
            self._dead_since_s = seen.time_s
        return seen.time_s - self._dead_since_s >= DEATH_HOLDS_S
