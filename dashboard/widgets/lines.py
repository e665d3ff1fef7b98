"""Lines of plain text in tones. Sends nothing to the terminal while nothing changes."""

from __future__ import annotations

from textual.content import Content
from textual.widgets import Static

from dashboard.shown import Line, Span, Tone

STYLES: dict[Tone, str] = {
    Tone.PLAIN: "",
    Tone.QUIET: "dim",
    Tone.STRONG: "bold",
    Tone.MARKED: "reverse",
    Tone.NOTICE: "bold ansi_bright_yellow",
    Tone.ALARM: "bold reverse ansi_bright_yellow",
}
"""Colour only adds: without it bold, inverse and the words still tell all of it apart."""


def content_of(shown: Line) -> Content:
    """Make one line; text is never read as markup."""
    return Content.assemble(*(_piece(span) for span in shown))


class Lines(Static):
    """See the module."""

    def __init__(self, *, id: str) -> None:  # noqa: A002 - the library's own name
        super().__init__("", id=id, markup=False)
        self._shown: tuple[Line, ...] = ()

    def show(self, lines: tuple[Line, ...]) -> None:
        """Show these lines, unless they stand there already."""
        if lines != self._shown:
            grown = len(lines) != len(self._shown)
            self._shown = lines
            content = Content("\n").join(content_of(shown) for shown in lines)
            self.update(content, layout=grown)  # laying the screen out anew costs most of a look


def _piece(span: Span) -> tuple[str, str]:
    return span.text, STYLES[span.tone]
