"""All marks, and how long ago: three keys and Enter. Nothing is sent from here."""

from __future__ import annotations

from dataclasses import dataclass

from textual.app import ComposeResult
from textual.binding import Binding
from textual.screen import ModalScreen

from dashboard.shown import Line, Span, Tone, line
from dashboard.widgets.lines import Lines
from dashboard.words import spoken
from firmware_host.model.samples import MARKS

ABANDONED = "abandoned"
CHOICES = (*MARKS, ABANDONED)
AGO_MIN = (0, 1, 2, 3, 5, 10, 15, 30, 60)
"""Minutes ago, as a person who only now comes to the keys would say it."""


@dataclass(frozen=True, slots=True)
class Chosen:
    """What was picked."""

    name: str
    earlier_s: float


class MarkMenu(ModalScreen[Chosen | None]):
    """Gives what was chosen, or None."""

    BINDINGS = [
        Binding("up", "move(-1)"),
        Binding("down", "move(1)"),
        Binding("left", "when(-1)"),
        Binding("right", "when(1)"),
        Binding("enter", "choose"),
        Binding("escape,m,q", "back"),
    ]

    def __init__(self) -> None:
        super().__init__()
        self._at = 0
        self._ago = 0

    def compose(self) -> ComposeResult:
        """One place for all lines."""
        yield Lines(id="marks")

    def on_mount(self) -> None:
        """Show the first choice."""
        self._show()

    def action_move(self, step: int) -> None:
        """Go up or down."""
        self._at = (self._at + step) % len(CHOICES)
        self._show()

    def action_when(self, step: int) -> None:
        """Say it happened earlier, or later."""
        self._ago = min(max(self._ago + step, 0), len(AGO_MIN) - 1)
        self._show()

    def action_choose(self) -> None:
        """Take the choice."""
        self.dismiss(Chosen(CHOICES[self._at], AGO_MIN[self._ago] * 60.0))

    def action_back(self) -> None:
        """Leave without one."""
        self.dismiss(None)

    def _show(self) -> None:
        minutes = AGO_MIN[self._ago]
        when = "just now" if minutes == 0 else f"{minutes} min ago"
        self.query_one("#marks", Lines).show(
            (
                line(" Which mark?", Tone.STRONG),
                *(self._choice(number, name) for number, name in enumerate(CHOICES)),
                (Span(" when   "), Span(f" {when} ", Tone.MARKED), Span("   left/right")),
                line(" up/down, Enter takes it, Esc goes back", Tone.QUIET),
            )
        )

    def _choice(self, number: int, name: str) -> Line:
        if number == self._at:
            return line(f" > {spoken(name)} ", Tone.MARKED)
        return line(f"   {spoken(name)} ")
