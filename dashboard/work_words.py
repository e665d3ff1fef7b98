"""The line of the work: plies, second cup, dose as poured. Pure."""

from __future__ import annotations

from collections.abc import Iterator

from dashboard.shown import Line, Span, Tone
from dashboard.words import clock_at
from firmware_host.model.events import Phase
from firmware_host.model.snapshot import Snapshot, WorkView

WORKED = (Phase.WORKING, Phase.DRAWDOWN, Phase.WAITING)


def work_line(snapshot: Snapshot, now_s: float) -> tuple[Line, ...]:
    """Give the line; none before the pour, and none once nobody works the resin any more."""
    view = snapshot.view
    work = view.work
    if work is None or view.phase not in WORKED or _over(view.phase, work, now_s):
        return ()
    spans: list[Span] = []
    for found in (_dose(work), _plies(work), _second_cup(snapshot, work, now_s)):
        for one in found:
            spans += [one if spans else Span(one.text.lstrip(), one.tone)]
    return ((Span(" work        "), *spans),) if spans else ()


def _over(phase: Phase, work: WorkView, now_s: float) -> bool:
    smoothed_s = work.smoothed_by_s
    return phase is Phase.WAITING and (smoothed_s is None or now_s > smoothed_s)


def _plies(work: WorkView) -> Iterator[Span]:
    if work.plies == 0:
        return
    if work.plies_laid == work.plies:
        yield Span(f"  all {work.plies} plies laid")
    else:
        yield Span(f"  ply {work.plies_laid + 1}/{work.plies}: ", Tone.STRONG)
        yield Span(work.next_ply)


def _second_cup(snapshot: Snapshot, work: WorkView, now_s: float) -> Iterator[Span]:
    if work.second_cup_s is not None:
        at = clock_at(snapshot.zero_wall, work.second_cup_s)
        yield Span(f"  cup 2 mixed {at}, clock by cup 1")
    elif work.second_cup_by_s is not None:
        by = clock_at(snapshot.zero_wall, work.second_cup_by_s)
        if now_s > work.second_cup_by_s:
            yield Span(f"  ~ cup 2 due since {by}", Tone.NOTICE)
        else:
            yield Span(f"  cup 2 at {by}")


def _dose(work: WorkView) -> Iterator[Span]:
    if work.poured_percent is None:
        return
    said = f"dosed {work.poured_percent:.2f} %"
    if work.poured_doubt:
        yield Span(f"  ~ {said}, {work.poured_doubt}", Tone.NOTICE)
    else:
        yield Span(f"  {said}")
