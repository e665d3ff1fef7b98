"""The drop test as the panel says it: how far it is, its rise and interval, its verdict. Pure."""

from __future__ import annotations

from dashboard.shown import Line, Span, Tone, line
from dashboard.words import clock_at, minutes_seconds
from firmware_host.model.events import Verdict
from firmware_host.model.snapshot import DropTestView, Snapshot

GAUGE_CELLS = 56
VERDICT_WORDS = {
    Verdict.TIGHT: " tight ",
    Verdict.LEAKING: " !! leaking ",
    Verdict.UNDECIDED: " ~ not proven ",
}
_VERDICT_TONES = {
    Verdict.TIGHT: Tone.MARKED,
    Verdict.LEAKING: Tone.ALARM,
    Verdict.UNDECIDED: Tone.NOTICE,
}


def drop_lines(snapshot: Snapshot, now_s: float) -> tuple[Line, Line]:
    """Say how the test stands, and draw its rise against the limit."""
    test = snapshot.view.drop_test
    if test is None:
        return (
            line(" drop test   none yet; the verdict on the bag is not proven"),
            line(f"             limit {snapshot.view.drop_rule}", Tone.QUIET),
        )
    return _standing(test, snapshot, now_s), _gauge_line(test, snapshot.view.drop_rule)


def _standing(test: DropTestView, snapshot: Snapshot, now_s: float) -> Line:
    if test.running:
        span = f"valve shut {minutes_seconds(now_s - test.start_s)}"
    else:
        ended = clock_at(snapshot.zero_wall, test.end_s)
        span = f"ended {ended} after {minutes_seconds(test.end_s - test.start_s)}"
    return (
        Span(f" drop test {test.number}  {span}  "),
        Span(VERDICT_WORDS[test.verdict], _VERDICT_TONES[test.verdict]),
        Span(f"  {_rise_words(test)}"),
    )


def _rise_words(test: DropTestView) -> str:
    rise, low, high = test.rise_pa_per_s, test.rise_low_pa_per_s, test.rise_high_pa_per_s
    if rise is None or low is None or high is None:
        return "rise: too early"
    return f"rise {_short(rise)} ({_short(low)} to {_short(high)}) Pa/s"


def _short(rise_pa_per_s: float) -> str:
    """Keep tenths only where they mean something: the line has to fit 80 columns."""
    return f"{rise_pa_per_s:.{1 if abs(rise_pa_per_s) < 9.95 else 0}f}"


def _gauge_line(test: DropTestView, rule: str) -> Line:
    limit = test.limit_pa_per_s
    same = rule == f"{limit:g} Pa/s"
    words = "" if same else f", {rule}"
    return line(f"   0 {_gauge(test)} {2.0 * limit:.1f}   | limit {limit:.1f} Pa/s{words}")


def _gauge(test: DropTestView) -> str:
    """Draw the interval as '=', the estimate as 'o' and the limit as '|', up to twice the limit."""
    cells = ["."] * (GAUGE_CELLS // 2)
    low, high = test.rise_low_pa_per_s, test.rise_high_pa_per_s
    if low is not None and high is not None:
        for place in range(_place(low, test), _place(high, test) + 1):
            cells[place] = "="
    cells[_place(test.limit_pa_per_s, test)] = "|"
    if test.rise_pa_per_s is not None:
        cells[_place(test.rise_pa_per_s, test)] = "o"
    if high is not None and high > 2.0 * test.limit_pa_per_s:
        cells[-1] = ">"
    return "[" + "".join(cells) + "]"


def _place(rise_pa_per_s: float, test: DropTestView) -> int:
    last = GAUGE_CELLS // 2 - 1
    share = rise_pa_per_s / (2.0 * test.limit_pa_per_s)
    return round(min(max(share, 0.0), 1.0) * last)
