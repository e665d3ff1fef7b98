"""Alarms as the panel says them: the most urgent one in a box, all of them on one line. Pure."""

from __future__ import annotations

from dashboard.plain import padded, wrapped
from dashboard.shown import Line, Span, Tone, fitted, line
from dashboard.words import clock_at, span, spoken
from firmware_host.model.events import AlarmState
from firmware_host.model.snapshot import AlarmView, Snapshot

TEXT_LINES, ACTION_LINES = 3, 3
NOTHING_NOW = "Nothing now: its cause is gone. It waits to be seen."
_RANK = {"high": 0, "medium": 1, "low": 2}
_TURN = {
    AlarmState.ACTIVE: 0,
    AlarmState.RETURNED: 1,
    AlarmState.ACKNOWLEDGED: 2,
    AlarmState.SHELVED: 3,
}
_STATE_WORDS = {
    AlarmState.ACTIVE: "active",
    AlarmState.RETURNED: "gone again, not seen",
    AlarmState.ACKNOWLEDGED: "seen, still active",
    AlarmState.SHELVED: "put aside",
}


def in_order(alarms: tuple[AlarmView, ...]) -> list[AlarmView]:
    """Put what can still be acted on first, the seen last; of these the urgent, then the oldest."""
    return sorted(
        alarms,
        key=lambda alarm: (_TURN.get(alarm.state, 0), _RANK.get(alarm.priority, 3), alarm.raised_s),
    )


def unseen(alarms: tuple[AlarmView, ...]) -> list[AlarmView]:
    """List the alarms that wait to be seen."""
    return [alarm for alarm in in_order(alarms) if not _is_seen(alarm)]


def name_of(alarm: AlarmView) -> str:
    """Name an alarm with its channel."""
    return f"{spoken(alarm.name)} {alarm.channel}" if alarm.channel else spoken(alarm.name)


def alarm_line(alarms: tuple[AlarmView, ...], cells: int) -> Line:
    """Sum the alarms up in one line."""
    waiting = unseen(alarms)
    if waiting:
        count = f"{len(waiting)} alarm{'s' if len(waiting) > 1 else ''} not seen"
        names = ", ".join(name_of(alarm) for alarm in waiting)
        return line(padded(f" !! {count}: {names}", cells), Tone.ALARM)
    if alarms:
        ordered = in_order(alarms)
        aside = [alarm for alarm in ordered if alarm.state is AlarmState.SHELVED]
        seen = [alarm for alarm in ordered if alarm not in aside]
        return (*_named(" !  seen, still active: ", seen), *_named(" !  put aside: ", aside))
    return line(" no alarm", Tone.QUIET)


def _named(words: str, alarms: list[AlarmView]) -> Line:
    names = ", ".join(name_of(alarm) for alarm in alarms)
    return (Span(words), Span(names, Tone.STRONG)) if alarms else ()


def alarm_box(snapshot: Snapshot, now_s: float, cells: int) -> tuple[Line, ...]:
    """Lay out the most urgent alarm: evidence, action, and what else waits."""
    alarms = in_order(snapshot.view.alarms)
    if not alarms:
        return ()
    first, others = alarms[0], alarms[1:]
    since = clock_at(snapshot.zero_wall, first.raised_s)
    title = (
        f" !! {name_of(first)}   {first.priority}   {_state_words(first, snapshot.zero_wall)}"
        f"   since {since}, {span(now_s - first.raised_s)}"
    )
    lines = [line(padded(title, cells), Tone.ALARM)]
    # Active, the whole block is inverse: from across the room its shape is what is seen.
    tone = Tone.ALARM if first.state is AlarmState.ACTIVE else Tone.PLAIN
    for text in wrapped(first.text, cells - 5, TEXT_LINES):
        lines.append(line(padded(f"    {text}", cells), tone))
    for number, text in enumerate(wrapped(_action(first), cells - 5, ACTION_LINES)):
        lines.append(
            (Span(" do " if number == 0 else "    ", Tone.STRONG), Span(text, Tone.STRONG))
        )
    lines.append(_others(others) if others else line(""))
    return tuple(fitted(shown, cells) for shown in lines)


def _state_words(alarm: AlarmView, zero_wall: str) -> str:
    words = _STATE_WORDS.get(alarm.state, "")
    if alarm.shelved_until_s is None:
        return words
    return f"{words} until {clock_at(zero_wall, alarm.shelved_until_s)}"


def _action(alarm: AlarmView) -> str:
    """Say what to do; what was right while the cause stood may be wrong after it has gone."""
    return NOTHING_NOW if alarm.state is AlarmState.RETURNED else alarm.action


def _others(others: list[AlarmView]) -> Line:
    return (Span(" also ", Tone.STRONG), Span(", ".join(name_of(alarm) for alarm in others)))


def _is_seen(alarm: AlarmView) -> bool:
    return alarm.state in (AlarmState.ACKNOWLEDGED, AlarmState.SHELVED)
