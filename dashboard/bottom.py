"""The bottom of the panel: what a key did or is about to do, and what the keys do now. Pure."""

from __future__ import annotations

import math
from dataclasses import dataclass

from dashboard.pending import PendingMark
from dashboard.plain import cut, padded
from dashboard.shown import Line, Screen, Span, Tone, line
from dashboard.words import spoken

SAID_S = 8.0
"""Real time for which an answer stands."""
REFUSED_S = 20.0
"""The same for a refusal: somebody has to read it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Said:
    """An answer to a press."""

    text: str
    ok: bool
    at_s: float

    def stands(self, now_s: float) -> bool:
        """Tell whether it is still shown."""
        return now_s - self.at_s < (SAID_S if self.ok else REFUSED_S)


def said_line(said: Said, cells: int) -> Line:
    """Show what became of a press."""
    if said.ok:
        return line(padded(f" {said.text}", cells), Tone.MARKED)
    return line(padded(f" !! {said.text}", cells), Tone.ALARM)


def pending_line(mark: PendingMark, now_s: float, trouble: str, cells: int) -> Line:
    """Show a mark that waits, and how to take it back."""
    left_s = math.ceil(mark.left_s(now_s))
    if left_s > 0 and not trouble:
        text = f" {spoken(mark.name)} in {left_s} s - u takes it back"
    else:
        text = f" {spoken(mark.name)} not sent - u takes it back. {trouble}"
    return line(padded(cut(text, cells), cells), Tone.MARKED)


def key_line(screen: Screen, *, trends_shown: bool) -> Line:
    """Name the keys; the big one first."""
    spans = [Span(" ")]
    if screen.next_ply is not None:
        spans = [Span(" SPACE ", Tone.MARKED), Span(f" ply {screen.next_ply} laid   ", Tone.STRONG)]
    elif screen.usual_mark:
        usual = f" {spoken(screen.usual_mark)}   "
        spans = [Span(" SPACE ", Tone.MARKED), Span(usual, Tone.STRONG)]
    spans.append(Span("m marks   "))
    if screen.unseen_alarms:
        spans += [Span(" a ", Tone.MARKED), Span(" alarm seen   ", Tone.STRONG)]
    if screen.alarm_box:
        spans.append(Span("t alarm text   " if trends_shown else "t trends   "))
    spans.append(Span("? help   q leave"))
    return tuple(spans)
