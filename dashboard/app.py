"""The panel on a terminal: looks twice a second at what was heard, and shows what changed.

It paints before it connects. Nothing here waits for the daemon: the client follows it in a worker,
commands are sent in workers, and their answers are shown on the line above the keys.
"""

from __future__ import annotations

import asyncio
import signal
from functools import partial
from typing import ClassVar

from textual.app import App, ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, Vertical

from dashboard.client import Link
from dashboard.curves import bag_curve, laminate_curve
from dashboard.hands import Hands
from dashboard.hung_up import hung_up
from dashboard.layout import LINE_PLACES, lines_by_place
from dashboard.plain import cleaned
from dashboard.shown import Line, Screen
from dashboard.view_model import screen_of
from dashboard.widgets.dose_page import DosePage
from dashboard.widgets.help_page import HelpPage
from dashboard.widgets.lines import Lines
from dashboard.widgets.mark_menu import ABANDONED, Chosen, MarkMenu
from dashboard.widgets.reason_page import ReasonPage
from dashboard.widgets.trend_plot import TrendPlot
from firmware_host.clock import Clock

FOLLOW = "follow"
"""Name of the worker that listens; all others end by themselves."""
LOOK_S = 0.5
TREND_S = 5.0
"""Real time between two drawings of the trends, at least."""
HUNG_UP = 129
"""What a shell says of a program that its terminal's end ended."""
DOSED = "dosed"
TALL_ROWS = 33
"""From this height on, an alarm's text and the trends stand together."""


class Panel(App[None]):
    """See the module."""

    CSS_PATH = "app.tcss"
    ENABLE_COMMAND_PALETTE = False
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("space", "usual"),
        Binding("u", "take_back"),
        Binding("m", "menu"),
        Binding("a", "seen"),
        Binding("t", "swap"),
        Binding("question_mark", "help"),
        Binding("q", "leave"),
        Binding("ctrl+q,ctrl+c", "leave", priority=True),
    ]

    def __init__(
        self, link: Link, clock: Clock, *, ascii_only: bool = False, terminal: int | None = None
    ) -> None:
        """Show what `link` hears; the clock is real time, for ages and for the keys.

        `terminal` is the descriptor whose end ends the panel, where there is one.
        """
        super().__init__(ansi_color=True)
        self.hands = Hands(link, clock, ascii_only=ascii_only)
        self._link = link
        self._clock = clock
        self._ascii_only = ascii_only
        self._terminal = terminal
        self._seen: Screen | None = None
        self._trend_s: float | None = None
        self._rung: frozenset[str] = frozenset()
        self._text_wanted: bool | None = None
        """Whether the person asked for alarm text or for trends; None: as it comes."""
        self._asked_to_leave = False
        self.complete = asyncio.Event()
        """Set once the trends stand too."""

    def compose(self) -> ComposeResult:
        """Every place, always in the same place."""
        yield Lines(id="header")
        yield Lines(id="alarm-line")
        with Horizontal(id="numbers"):
            yield Lines(id="left")
            yield Lines(id="right")
        with Vertical(id="body"):
            yield Lines(id="alarm-box")
            with Horizontal(id="trends"):
                yield TrendPlot(ascii_only=self._ascii_only, id="bag-trend")
                yield TrendPlot(ascii_only=self._ascii_only, id="laminate-trend")
        for place in LINE_PLACES:
            yield Lines(id=place)

    def on_mount(self) -> None:
        """Paint, then begin to listen; told to end, give the terminal back as it was."""
        asyncio.get_running_loop().add_signal_handler(signal.SIGTERM, self.exit)
        self.look()
        self.run_worker(self._link.run(), name=FOLLOW)
        self.set_interval(LOOK_S, self.look)

    def on_resize(self) -> None:
        """Lay the lines out anew."""
        self.look()

    def look(self) -> None:
        """Show the newest, and see to what is due."""
        if self._terminal is not None and hung_up(self._terminal):
            self.exit(return_code=HUNG_UP)  # nobody is there any more
        if not self.screen_stack or not self.screen_stack[0].query("#header"):
            return  # the timer outlives the screen by a moment, when the panel is left
        now_s = self._clock.monotonic_s()
        cells = self.size.width
        self._seen = screen_of(self._link.heard, now_s, cells, ascii_only=self._ascii_only)
        self._ring(self._seen)
        self._fill(self._seen, cells)
        if self.hands.is_due():
            self.run_worker(self._send_pending())
        if self._is_trend_due(now_s):
            self._trend_s = now_s
            self.run_worker(self._fetch_trend())

    def _fill(self, screen: Screen, cells: int) -> None:
        text_shown = self._is_text_shown(screen)
        base = self.screen_stack[0]
        base.set_class(text_shown, "alarm-text")
        base.set_class(bool(screen.work), "worked")
        base.set_class(self.size.height >= TALL_ROWS, "tall")
        state = self.hands.bottom(screen.state, cells)
        shown = lines_by_place(
            screen, state, cells, trends_shown=not text_shown, ascii_only=self._ascii_only
        )
        for name, lines in shown.items():
            self._place(name, *lines)

    def _answer(self) -> None:
        if self._seen is not None:
            self._place("state", self.hands.bottom(self._seen.state, self.size.width))

    def _place(self, name: str, *lines: Line) -> None:
        self.screen_stack[0].query_one(f"#{name}", Lines).show(lines)

    def _is_text_shown(self, screen: Screen) -> bool:
        if not screen.alarm_box:
            self._text_wanted = None
        if self._text_wanted is None:
            return bool(screen.unseen_alarms)
        return self._text_wanted

    def _ring(self, screen: Screen) -> None:
        """Ring once for an alarm that is new, and show its text; the loud part is the buzzer's."""
        waiting = frozenset(screen.unseen_alarms)
        if waiting - self._rung:
            self.bell()
            self._text_wanted = None
        self._rung = waiting

    def _is_trend_due(self, now_s: float) -> bool:
        heard = self._link.heard
        if heard.snapshot is None or heard.trouble:
            return False
        return self._trend_s is None or now_s - self._trend_s >= TREND_S

    async def _fetch_trend(self) -> None:
        try:
            trend = await self._link.trend()
        except OSError:
            return  # the header tells that nothing answers; the next turn asks again
        if self._link.heard.snapshot is None:
            return
        snapshot = cleaned(self._link.heard.snapshot, ascii_only=self._ascii_only)
        base = self.screen_stack[0]
        base.query_one("#bag-trend", TrendPlot).show(bag_curve(snapshot, trend))
        base.query_one("#laminate-trend", TrendPlot).show(laminate_curve(snapshot, trend))
        self.complete.set()

    def action_usual(self) -> None:
        """Begin the usual next mark."""
        if self.hands.is_repeat("space") or self._seen is None:
            return
        if self._seen.next_ply is not None and self.hands.pending is None:
            self.run_worker(self._lay(self._seen.next_ply, undo=False))
        elif self._seen.usual_mark is None:
            self.hands.say("no mark is usual now; m shows all marks", ok=True)
        else:
            self.hands.begin(self._seen.usual_mark)
        self.look()

    def action_take_back(self) -> None:
        """Take the waiting mark back, or the ply that was just counted."""
        laid = self.hands.ply_to_take_back()
        if laid is not None:
            self.run_worker(self._lay(laid, undo=True))
            return
        self.hands.take_back()
        self.look()

    def action_menu(self) -> None:
        """Show all marks."""
        if not self.hands.is_repeat("m"):
            self.push_screen(MarkMenu(), self._chosen)

    async def action_seen(self) -> None:
        """Say that the first unseen alarm was seen."""
        if self.hands.is_repeat("a") or self._seen is None:
            return
        if self._seen.unseen_alarms:
            self._text_wanted = None
            alarm_id, name = self._seen.unseen_alarms[0], self._seen.unseen_names[0]
            self.run_worker(self._acknowledge(alarm_id, name))
        else:
            self.hands.say("no alarm waits to be seen", ok=True)
            self.look()

    def action_swap(self) -> None:
        """Swap the trends and the alarm's text."""
        if not self.hands.is_repeat("t") and self._seen is not None:
            self._text_wanted = not self._is_text_shown(self._seen)
            self.look()

    def action_help(self) -> None:
        """Say what the keys do."""
        if not self.hands.is_repeat("question_mark"):
            self.push_screen(HelpPage())

    def action_leave(self) -> None:
        """Leave; a mark that still waits is sent first, and a second press leaves without it."""
        if self.hands.pending is None or self._asked_to_leave:
            self.exit()
            return
        self._asked_to_leave = True
        self.run_worker(self._send_and_leave())

    async def _send_pending(self) -> None:
        await self.hands.send_pending()
        self._answer()  # a whole look would try at once again where nobody is reached

    async def _lay(self, laid: int, *, undo: bool) -> None:
        await self.hands.lay(laid, undo=undo)
        self._answer()

    async def _acknowledge(self, alarm_id: str, name: str) -> None:
        await self.hands.acknowledge(alarm_id, name)
        self._answer()

    async def _send_and_leave(self) -> None:
        await self.hands.send_pending(at_leaving=True)
        if self.hands.pending is None:
            self.exit()
        else:
            self._answer()

    def _chosen(self, chosen: Chosen | None) -> None:
        if chosen is None:
            return
        if chosen.name == ABANDONED:
            self.push_screen(ReasonPage(), self._abandon)
        elif chosen.name == DOSED:
            self.push_screen(DosePage(), partial(self._dosed, chosen))
        else:
            self.hands.begin(chosen.name, earlier_s=chosen.earlier_s)
            self.look()

    def _dosed(self, chosen: Chosen, dose: str | None) -> None:
        if dose is not None:
            self.hands.begin(DOSED, earlier_s=chosen.earlier_s, note=dose)
            self.look()

    def _abandon(self, reason: str | None) -> None:
        if reason is not None:
            self.hands.begin(ABANDONED, note=reason)
            self.look()
