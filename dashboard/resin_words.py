"""The resin in two lines: its word with the window or conversion, and below it the way from here.

Pure. Before the gel a range of times and how much of the induction is over; conversion only after
it. No time is counted down to; a range that has begun says so.
"""

from __future__ import annotations

from dashboard.plain import cut
from dashboard.shown import Line, Span, Tone, line
from dashboard.words import clock_at, degrees, spoken
from firmware_host.model.events import CaseAhead, CureState, Range
from firmware_host.model.snapshot import CureView, Snapshot

DAY_S = 86400.0
INDENT = " " * 13
CELLS = 80
BEFORE_KICK = (CureState.WAITING, CureState.LATE, CureState.NO_KICK, CureState.DOUBTED)
TROUBLED = (CureState.LATE, CureState.NO_KICK, CureState.DIED)


def resin(snapshot: Snapshot) -> tuple[Line, ...]:
    """Say what is known of the resin, and what comes."""
    cure = snapshot.view.cure
    if cure is None:
        return (line(" resin       not mixed yet", Tone.QUIET),)
    below = _below(cure, snapshot)
    shown = cut(INDENT + below, CELLS)
    return (_first(cure, snapshot), *((line(shown, _tone(cure)),) if below else ()))


def _first(cure: CureView, snapshot: Snapshot) -> Line:
    word = spoken(cure.state.value)
    if cure.late:
        late = cure.state is CureState.KICKED
        word = "kicked late" if late else f"{word}, kicked late"
    head = Span(f" resin       {word}", Tone.STRONG)
    if cure.state is CureState.NOT_OBSERVABLE:
        why = cure.why[0] if cure.why else "laminate and cup are not measured"
        return (head, Span(f": {why.split(':')[0]}"))
    if cure.conversion is not None:
        rest = f"   {_gel_past(cure, snapshot)}   {_conversion(cure)}"
        if len(head.text) + len(rest) > CELLS:
            rest = rest.replace("   ", "  ").replace("% to ", "-").replace(" to ", "-")
        return (head, Span(rest))
    return (head, Span(f"   {_forecast(cure, snapshot)}"))


def _below(cure: CureView, snapshot: Snapshot) -> str:
    if cure.state is CureState.NOT_OBSERVABLE:
        return "put a witness cup, 20 to 50 g, insulated, with a couple beside it"
    if cure.state is CureState.DIED:
        return f"{cure.why[0]}: keep the vacuum on" if cure.why else ""
    if cure.state in (CureState.MAY_REST, CureState.MAY_PULL):
        return "; ".join(cure.why)
    if cure.ahead is None or not cure.ahead.cases:
        return ""
    if cure.state in BEFORE_KICK:
        return _to_the_kick(cure, snapshot)
    return _after_the_kick(cure, snapshot)


def _to_the_kick(cure: CureView, snapshot: Snapshot) -> str:
    ahead = cure.ahead
    assert ahead is not None, "asked for only where there is one"
    burnt = "" if cure.inhibitor is None else f"induction {cure.inhibitor[1]:.0%}"
    now = ahead.cases[0]
    peak = _between(snapshot, now.peak_s)
    hot = f"peak {peak}, up to {degrees(now.hottest_k[2]).split('.')[0]} C" if peak else ""
    by = f"by {ahead.governs}" if ahead.governs else ""
    warmed = _warmed(ahead.cases)
    parts = (warmed, hot, by) if cure.state in TROUBLED else (burnt, hot, warmed or by)
    return "; ".join(part for part in parts if part)


def _warmed(cases: tuple[CaseAhead, ...]) -> str:
    """Say what warming buys, at its likeliest."""
    warm = next((case for case in cases if case.warmed_k is not None), None)
    if warm is None or warm.warmed_k is None:
        return ""
    to_c = degrees(warm.warmed_k).split(".")[0]
    now_s, warm_s = cases[0].gel_s[1], warm.gel_s[1]
    if warm_s is None:
        return ""
    if now_s is None:
        return f"only warmed to {to_c} C it gels soon"
    return f"{max(now_s - warm_s, 0.0) / 60.0:.0f} min sooner at {to_c} C"


def _after_the_kick(cure: CureView, snapshot: Snapshot) -> str:
    ahead = cure.ahead
    assert ahead is not None, "asked for only where there is one"
    now = ahead.cases[0]
    peak, rest = _between(snapshot, now.peak_s), _between(snapshot, now.rest_s)
    shown = [f"peak {peak}"] if peak and cure.state is CureState.KICKED else []
    shown += [f"vacuum off {rest}"] if rest else []
    if cure.state is CureState.COOLING and cure.why:
        shown.append(cure.why[0].removeprefix("for vacuum off: "))
    return "; ".join(shown)


def _between(snapshot: Snapshot, times: Range) -> str:
    """Give 5 to 95 % as times of day; what has begun is said as by when."""
    low_s, _, high_s = times
    if low_s is None:
        return ""
    late = "later" if high_s is None else _within_a_day(snapshot, high_s)
    if low_s <= snapshot.view.time_s:
        return "any time now" if high_s is None else f"by {late}"
    soon = _within_a_day(snapshot, low_s)
    return soon if soon == late else f"{soon}-{late}"


def _forecast(cure: CureView, snapshot: Snapshot) -> str:
    if cure.gel_s is None or cure.gel_low_s is None or cure.gel_high_s is None:
        return "no gel forecast yet"
    low, likely, high = (
        _within_a_day(snapshot, time_s) for time_s in (cure.gel_low_s, cure.gel_s, cure.gel_high_s)
    )
    latest_s = snapshot.view.latest_gel_s
    latest = "" if latest_s is None else f"; latest {clock_at(snapshot.zero_wall, latest_s)}"
    return f"gel from {low} to {high}, likely near {likely}{latest}"


def _within_a_day(snapshot: Snapshot, time_s: float) -> str:
    """Give a time of day; further off it would be taken for today's."""
    far = time_s - snapshot.view.time_s >= DAY_S
    return "a day or more" if far else clock_at(snapshot.zero_wall, time_s)


def _gel_past(cure: CureView, snapshot: Snapshot) -> str:
    if cure.gel_low_s is None or cure.gel_high_s is None:
        return "gel not placed"
    low, high = (clock_at(snapshot.zero_wall, s) for s in (cure.gel_low_s, cure.gel_high_s))
    return f"gelled {low} to {high}"


def _conversion(cure: CureView) -> str:
    if cure.conversion is None or cure.conversion_low is None or cure.conversion_high is None:
        return ""
    low, high = cure.conversion_low, cure.conversion_high
    return f"conversion {cure.conversion:.0%} ({low:.0%} to {high:.0%})"


def _tone(cure: CureView) -> Tone:
    return Tone.STRONG if cure.state in TROUBLED else Tone.PLAIN
