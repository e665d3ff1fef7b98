"""Which lines stand in which place of the screen; the places themselves are in `app.tcss`. Pure."""

from __future__ import annotations

from dashboard.big_lines import big_lines
from dashboard.bottom import key_line
from dashboard.shown import Line, Screen

LINE_PLACES = ("drop-test", "work", "bag", "resin", "channels", "state", "keys")
"""Below the body, from top to bottom."""


def lines_by_place(
    screen: Screen, state: Line, cells: int, *, trends_shown: bool, ascii_only: bool = False
) -> dict[str, tuple[Line, ...]]:
    """Give every place but the trends its lines; `state` may be an answer to a press instead."""
    half = cells // 2
    return {
        "header": (screen.header,),
        "alarm-line": (screen.alarm_line,),
        "left": big_lines(screen.left, half, ascii_only=ascii_only),
        "right": big_lines(screen.right, half, ascii_only=ascii_only),
        "alarm-box": screen.alarm_box,
        "drop-test": screen.drop_test,
        "work": screen.work,
        "bag": screen.bag,
        "resin": screen.resin,
        "channels": screen.channels,
        "state": (state,),
        "keys": (key_line(screen, trends_shown=trends_shown),),
    }
