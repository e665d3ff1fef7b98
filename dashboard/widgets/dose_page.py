"""The dose as it was poured, asked for with the mark `dosed`."""

from __future__ import annotations

from textual.app import ComposeResult
from textual.binding import Binding
from textual.containers import Vertical
from textual.screen import ModalScreen
from textual.widgets import Input

from dashboard.plain import cut
from dashboard.shown import Line, Tone, line
from dashboard.widgets.lines import Lines
from firmware_host.model.dose_words import said_dose

LONGEST = 40
SHOWN = 20
CAUTION = " Goggles on. Never onto promoter (violent), never into a wet lay-up."


def refused(text: str) -> str:
    """Say in one line why a text is no dose; empty where it is one, or nothing at all."""
    if not text.strip() or said_dose(text) is not None:
        return ""
    return f"{cut(text.strip(), SHOWN)!r} is no dose. Write it as 2.9 g, 52 drops or 1.4 %."


class DosePage(ModalScreen[str | None]):
    """Gives the dose as typed, an empty text for the dose as planned, or None."""

    BINDINGS = [Binding("escape", "back")]

    def compose(self) -> ComposeResult:
        """Put a question over a place to type."""
        with Vertical(id="dose"):
            yield Lines(id="dose-question")
            yield Input(max_length=LONGEST, id="dose-text")

    def on_mount(self) -> None:
        """Ask."""
        self._ask(line(" Enter alone: as planned. Esc goes back.", Tone.QUIET))

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """Take the dose, or say why it is none."""
        why_not = refused(event.value)
        if why_not:
            self._ask(line(f" !! {why_not}", Tone.ALARM))
        else:
            self.dismiss(event.value.strip())

    def action_back(self) -> None:
        """Leave without a mark."""
        self.dismiss(None)

    def _ask(self, below: Line) -> None:
        self.query_one("#dose-question", Lines).show(
            (
                line(" Initiator as poured: grams, or drops of your dropper?", Tone.STRONG),
                line(CAUTION, Tone.QUIET),
                below,
            )
        )
