"""What the panel shows, place by place: plain words with a tone, no widget, no colour.

The tone says how a text stands out; a state is always told by its word too, and by shape:
`~` before a notice, `!!` before an alarm.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from dashboard.plain import cut, width


class Tone(StrEnum):
    """How a text stands out."""

    PLAIN = "plain"
    QUIET = "quiet"
    STRONG = "strong"
    MARKED = "marked"
    """Inverse, and no alarm: the phase."""
    NOTICE = "notice"
    ALARM = "alarm"
    """Inverse."""


@dataclass(frozen=True, slots=True)
class Span:
    """Words in one tone."""

    text: str
    tone: Tone = Tone.PLAIN


Line = tuple[Span, ...]


def line(text: str, tone: Tone = Tone.PLAIN) -> Line:
    """Make a line in one tone."""
    return (Span(text, tone),)


def text_of(shown: Line) -> str:
    """Give the words of a line without their tones."""
    return "".join(span.text for span in shown)


def fitted(shown: Line, cells: int) -> Line:
    """Cut a line to the width of its place."""
    room, kept = cells, []
    for span in shown:
        kept.append(Span(cut(span.text, room), span.tone))
        room -= width(span.text)
        if room < 0:
            break
    return tuple(kept)


def spread(left: Line, right: Line, cells: int) -> Line:
    """Put one line at each end of a place; the left one gives way."""
    right = fitted(right, cells)
    free = cells - width(text_of(right))
    left = fitted(left, max(free - 1, 0))
    gap = free - width(text_of(left))
    return (*left, Span(" " * gap), *right)


@dataclass(frozen=True, slots=True, kw_only=True)
class BigNumber:
    """One of the two numbers that matter now."""

    caption: str
    digits: str
    """Only what `numerals` can draw; '--' where the number is not known."""
    note: Line
    """What is wanted, and how it stands."""
    tone: Tone = Tone.PLAIN


@dataclass(frozen=True, slots=True, kw_only=True)
class Curve:
    """One trend: where it ran, and between which values it is wanted."""

    title: str
    segments: tuple[tuple[tuple[float, float], ...], ...]
    """Points as (time, value on the drawn scale); nothing is drawn between two segments."""
    wanted_below: float | None
    """On the drawn scale; None where the limit lies far outside the picture."""
    low: float
    high: float
    labels: tuple[tuple[float, str], ...]
    start_s: float
    end_s: float
    time_labels: tuple[tuple[float, str], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Screen:
    """Everything that one look at the bench shows."""

    header: Line
    alarm_line: Line
    left: BigNumber
    right: BigNumber
    alarm_box: tuple[Line, ...]
    """Empty where there is no alarm."""
    drop_test: tuple[Line, Line]
    work: tuple[Line, ...]
    """One line while resin is worked, else none."""
    bag: tuple[Line, ...]
    """How long it lasts, how deep is wise; none while resin is worked."""
    resin: tuple[Line, ...]
    """One line, or two where there is something to say of what comes."""
    channels: tuple[Line, ...]
    state: Line
    usual_mark: str | None
    next_ply: int | None
    """What the big key counts to; None where it sets the usual mark."""
    unseen_alarms: tuple[str, ...]
    """Ids of the alarms that wait to be seen, the most urgent first."""
    unseen_names: tuple[str, ...]
