"""What a panel shows twice a second through stretches of a simulated job, at the pace of the world.

The daemon's end gets the snapshots; the peer gets the very strings that the panel makes of them.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import islice
from pathlib import Path

import msgspec

from dashboard.curves import bag_curve, laminate_curve
from dashboard.heard import Heard
from dashboard.layout import lines_by_place
from dashboard.plot import drawn
from dashboard.shown import Line
from dashboard.view_model import screen_of
from dashboard.widgets.lines import STYLES
from dashboard.widgets.trend_plot import coloured
from firmware_host.model.snapshot import Snapshot
from firmware_host.model.trend import Trend
from tests.bench.feed import Feed, Judge, healthy
from tests.dashboard.parts import SNAPSHOT
from tests.dashboard.terminal import CELLS

LOOK_S = 0.5
TREND_LOOKS = 10
"""Looks between two drawings of the trends."""
TREND_ROWS = 9
HURRIED_S = 0.9
"""Between samples of the way to a stretch: as rare as they may be unblanked."""
STRETCHES = {"working": 1380.0, "drawn down": 1570.0, "drop test": 2170.0, "kick": 3400.0}
"""Where they begin, in seconds of the job."""


@dataclass(frozen=True, slots=True)
class Look:
    """One moment."""

    snapshot: Snapshot
    trend: Trend


def stretches(
    seed: int, for_s: float, most: int = len(STRETCHES)
) -> Iterator[tuple[str, list[Look]]]:
    """Give each of the first stretches with its looks."""
    scenario = healthy(seed, 9600.0)
    feed, judge = Feed(scenario), Judge(scenario)
    for name, begin_s in islice(STRETCHES.items(), most):
        judge.take(feed.until(begin_s, HURRIED_S))
        looks = []
        for number in range(round(for_s / LOOK_S)):
            judge.take(feed.until(begin_s + (number + 1) * LOOK_S))
            looks.append(_look(judge, number))
        yield name, looks


def _look(judge: Judge, number: int) -> Look:
    view = judge.monitor.view()
    snapshot = replace(SNAPSHOT, view=view, stored_rows=number, stored_age_s=0.5)
    return Look(snapshot, judge.monitor.trend())


def write_schedule(looks: list[Look], file: Path) -> None:
    """Write what each look changes, as the peer reads it: place to lines of (words, style)."""
    shown: dict[str, list[list[tuple[str, str]]]] = {}
    schedule = []
    for number, look in enumerate(looks):
        now = _lines(look) | (_trends(look) if number % TREND_LOOKS == 0 else {})
        schedule.append({place: rows for place, rows in now.items() if rows != shown.get(place)})
        shown |= now
    file.write_bytes(msgspec.json.encode(schedule))


def _lines(look: Look) -> dict[str, list[list[tuple[str, str]]]]:
    screen = screen_of(Heard(snapshot=look.snapshot, at_s=0.0), 0.0, CELLS)
    by_place = lines_by_place(screen, screen.state, CELLS, trends_shown=True)
    return {place: [_styled(line) for line in lines] for place, lines in by_place.items()}


def _styled(line: Line) -> list[tuple[str, str]]:
    return [(span.text, STYLES[span.tone]) for span in line]


def _trends(look: Look) -> dict[str, list[list[tuple[str, str]]]]:
    curves = {
        "bag-trend": bag_curve(look.snapshot, look.trend),
        "laminate-trend": laminate_curve(look.snapshot, look.trend),
    }
    return {
        place: [[(title, "")], *(coloured(row) for row in rows)]
        for place, curve in curves.items()
        for title, *rows in (drawn(curve, CELLS // 2, TREND_ROWS),)
    }
