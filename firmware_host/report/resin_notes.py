"""The resin's way for the page: each word with its reason, and what was expected of what came.

Pure. No conversion stands here before the gel, and no time without its range.
"""

from __future__ import annotations

from dataclasses import dataclass

from firmware_host.model.events import CaseAhead, CureForeseen, CureMoved, CureState, Range
from firmware_host.report.story import Story
from firmware_host.report.words import NBSP, TimeWords, celsius, spaced

DASH = "\u2013"
FORESEEN_SHOWN = 8
RESTS = (CureState.MAY_REST, CureState.MAY_PULL)


@dataclass(frozen=True, slots=True, kw_only=True)
class StateRow:
    """One word of the resin."""

    at: str
    state: str
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class AheadRow:
    """What was expected at some moment, 5 to 95 %."""

    at: str
    peak: str
    hottest: str
    rest: str
    pull: str
    warmed: str
    governs: str


def state_rows(story: Story, words: TimeWords) -> tuple[StateRow, ...]:
    """Give every word of the resin with what it rested on."""
    return tuple(
        StateRow(
            at=f"{words.wall(moved.time_s)} ({words.since(moved.time_s)})",
            state=_word(moved),
            why="; ".join(moved.why) or DASH,
        )
        for moved in story.moves
    )


def ahead_rows(story: Story, words: TimeWords) -> tuple[AheadRow, ...]:
    """Give some of the looks ahead, evenly over the job."""
    said = [one for one in story.foreseen if one.cases]
    step = max(-(-len(said) // FORESEEN_SHOWN), 1)
    return tuple(_ahead(one, words) for one in said[::step])


def release_words(story: Story) -> str:
    """Say what was known when the vacuum came off; empty while it is on."""
    released_s = story.released_s
    if released_s is None:
        return ""
    before = [moved for moved in story.moves if moved.time_s <= released_s]
    if not before:
        return ""
    last = before[-1]
    if last.state in RESTS:
        return f"Vacuum came off when it might: {_word(last)}."
    missing = "; ".join(last.why).removeprefix("for vacuum off: ")
    return f"Vacuum came off before it was advised: {_word(last)}" + (
        f" ({missing})." if missing else "."
    )


def kicked_late(story: Story) -> bool:
    """Tell whether it kicked after it had been called late."""
    return any(moved.late for moved in story.moves)


def _word(moved: CureMoved) -> str:
    word = spaced(moved.state.value)
    if not moved.late:
        return word
    return "kicked late" if moved.state is CureState.KICKED else f"{word}, kicked late"


def _ahead(seen: CureForeseen, words: TimeWords) -> AheadRow:
    now = seen.cases[0]
    return AheadRow(
        at=f"{words.wall(seen.time_s)} ({words.since(seen.time_s)})",
        peak=_between(now.peak_s, words),
        hottest=f"up to {celsius(now.hottest_k[2])}",
        rest=_between(now.rest_s, words),
        pull=_between(now.pull_s, words),
        warmed=_warmed(seen.cases),
        governs=seen.governs or DASH,
    )


def _warmed(cases: tuple[CaseAhead, ...]) -> str:
    warm = next((case for case in cases if case.warmed_k is not None), None)
    if warm is None or warm.warmed_k is None:
        return DASH
    now_s, warm_s = cases[0].gel_s[1], warm.gel_s[1]
    to = celsius(warm.warmed_k)
    if now_s is None or warm_s is None:
        return f"{to}: not told"
    return f"{to}: {max(now_s - warm_s, 0.0) / 60.0:.0f}{NBSP}min sooner"


def _between(times: Range, words: TimeWords) -> str:
    low_s, likely_s, high_s = times
    if low_s is None:
        return DASH
    late = "later" if high_s is None else f"{words.minutes(high_s):.0f}"
    likely = "" if likely_s is None else f", likely {words.minutes(likely_s):.0f}"
    return f"{words.minutes(low_s):.0f} to {late}{likely}"
