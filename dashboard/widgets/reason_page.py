"""Why a job is abandoned, typed out: no single press ends a job."""

from __future__ import annotations

from textual.app import ComposeResult
from textual.binding import Binding
from textual.containers import Vertical
from textual.screen import ModalScreen
from textual.widgets import Input

from dashboard.shown import Tone, line
from dashboard.widgets.lines import Lines

LEAST_LETTERS = 3
LONGEST = 200


class ReasonPage(ModalScreen[str | None]):
    """Gives the reason, or None."""

    BINDINGS = [Binding("escape", "back")]

    def compose(self) -> ComposeResult:
        """Put a question over a place to type."""
        with Vertical(id="reason"):
            yield Lines(id="reason-question")
            yield Input(max_length=LONGEST, id="reason-text")

    def on_mount(self) -> None:
        """Ask."""
        self.query_one("#reason-question", Lines).show(
            (
                line(" Abandon this job? Type why, then Enter. Esc goes back.", Tone.STRONG),
                line(" The record keeps the reason; the job is not watched any more.", Tone.QUIET),
            )
        )

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """Take the reason, if it is one."""
        reason = event.value.strip()
        if len(reason) >= LEAST_LETTERS:
            self.dismiss(reason)

    def action_back(self) -> None:
        """Leave the job as it is."""
        self.dismiss(None)
