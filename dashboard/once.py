"""The screen as plain text, 80 columns wide: for a pipe or a terminal that cannot draw."""

from __future__ import annotations

from dashboard.big_lines import big_lines
from dashboard.curves import bag_curve, laminate_curve
from dashboard.heard import Heard
from dashboard.plain import cleaned, padded
from dashboard.plot import drawn
from dashboard.shown import text_of
from dashboard.view_model import screen_of
from firmware_host.model.snapshot import Snapshot
from firmware_host.model.trend import Trend

CELLS = 80
HALF = CELLS // 2
TREND_ROWS = 8


def as_text(snapshot: Snapshot, trend: Trend | None, *, ascii_only: bool = False) -> str:
    """Give the whole screen; an alarm's text and the trends both."""
    screen = screen_of(Heard(snapshot=snapshot, at_s=0.0), 0.0, CELLS, ascii_only=ascii_only)
    left = [text_of(row) for row in big_lines(screen.left, HALF, ascii_only=ascii_only)]
    right = [text_of(row) for row in big_lines(screen.right, HALF, ascii_only=ascii_only)]
    rows = [text_of(screen.header), text_of(screen.alarm_line), *_beside(left, right)]
    if snapshot.view.alarms:
        rows += [text_of(row) for row in screen.alarm_box]
    if trend is not None:
        rows += _trends(cleaned(snapshot, ascii_only=ascii_only), trend, ascii_only=ascii_only)
    below = (*screen.drop_test, *screen.work, *screen.bag, *screen.resin)
    below += (*screen.channels, screen.state)
    rows += [text_of(row) for row in below]
    return "\n".join(padded(row, CELLS).rstrip() for row in rows) + "\n"


def _trends(snapshot: Snapshot, trend: Trend, *, ascii_only: bool) -> list[str]:
    left, right = (
        list(drawn(curve, HALF, TREND_ROWS, ascii_only=ascii_only))
        for curve in (bag_curve(snapshot, trend), laminate_curve(snapshot, trend))
    )
    return _beside(left, right)


def _beside(left: list[str], right: list[str]) -> list[str]:
    rows = max(len(left), len(right))
    left = left + [""] * (rows - len(left))
    right = right + [""] * (rows - len(right))
    return [padded(a, HALF) + b for a, b in zip(left, right, strict=True)]
