"""A big number as the seven lines of its place. Pure."""

from __future__ import annotations

from dashboard.numerals import ROWS, big
from dashboard.shown import BigNumber, Line, Span, Tone, fitted, line

HEIGHT = ROWS + 2


def big_lines(number: BigNumber, cells: int, *, ascii_only: bool = False) -> tuple[Line, ...]:
    """Give caption, five rows of numerals, and the note."""
    rows = big(number.digits, ascii_only=ascii_only)
    tone = number.tone if number.tone is Tone.NOTICE else Tone.STRONG
    return (
        line(f"  {number.caption}"[:cells], Tone.STRONG),
        *(line(f"  {row}"[:cells], tone) for row in rows),
        fitted((Span("  "), *number.note), cells),
    )
