"""What the keys do and what the signs mean."""

from __future__ import annotations

from textual import events
from textual.app import ComposeResult
from textual.screen import ModalScreen

from dashboard.shown import Tone, line
from dashboard.widgets.lines import Lines

HELP = """\
 SPACE  the usual next mark, named on the bottom line. It waits 10 s on the
        screen, then goes into the record as of the moment of the press.
        While resin is worked: the next ply is laid; that counts at once.
 u      takes a waiting mark back, or a ply within 10 s
 m      any other mark, also one that happened some minutes ago
 a      I have seen the alarm. It stays until its cause is gone.
 t      trends, or the alarm's evidence and what to do
 q      leave. Watching goes on without this panel.

 !!     an alarm, or something that is not working (inverse)
 ~      worth knowing (a notice)
 --     not known; "not measured" where there is no such channel
 -1:30  time that is over by so much
 tight / leaking / not proven     what a drop test says
 [..=o=..|...]   the rise 'o', its 95 % interval '=', the limit '|'

 A gel time before the gel is a range at the present temperature. Pressures
 are absolute. This panel records nothing and decides nothing: it shows what
 bagvigil knows. It is not a safety system.
 any key goes back"""


class HelpPage(ModalScreen[None]):
    """Any key goes back."""

    def compose(self) -> ComposeResult:
        """One place for all lines."""
        yield Lines(id="help")

    def on_mount(self) -> None:
        """Show the text."""
        title = line(" bagvigil panel", Tone.STRONG)
        self.query_one("#help", Lines).show((title, *map(line, HELP.split("\n"))))

    def on_key(self, event: events.Key) -> None:
        """Go back."""
        event.stop()
        self.dismiss(None)
