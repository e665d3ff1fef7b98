"""What the person's presses wait for: a mark in its window, an answer that is due. No widget.

One mark waits at a time. It is sent once its window is over; where no daemon is reached it goes on
waiting, counts from the press all the same, and can still be taken back. A command that was sent
and not answered is never sent again by itself: it may have been heard.
"""

from __future__ import annotations

from dashboard.bottom import Said, pending_line, said_line
from dashboard.client import Link, NotAnsweredError, NotReachedError
from dashboard.pending import TAKE_BACK_S, Bounce, Laid, PendingMark
from dashboard.plain import plain
from dashboard.shown import Line
from dashboard.words import spoken
from firmware_host.clock import Clock
from firmware_host.model.commands import AcknowledgeCommand, Answer, PliesCommand

AS_PANEL = "panel"
NOT_REACHED = "No bagvigil answers."
LEAVING = " q leaves."


class Hands:
    """See the module."""

    def __init__(self, link: Link, clock: Clock, *, ascii_only: bool = False) -> None:
        self.pending: PendingMark | None = None
        self._link = link
        self._clock = clock
        self._ascii_only = ascii_only
        self._said: Said | None = None
        self._trouble = ""
        self._sending = False
        self._bounce = Bounce()
        self._laid: Laid | None = None
        """The last press that counted a ply."""

    def is_repeat(self, key: str) -> bool:
        """Tell whether a key only bounced."""
        return self._bounce.is_repeat(key, self._clock.monotonic_s())

    def begin(self, name: str, *, earlier_s: float = 0.0, note: str = "") -> None:
        """Open the window of a mark, unless another one waits: its line says so."""
        if self.pending is None:
            self._said, self._trouble = None, ""
            self.pending = PendingMark(
                name=name, pressed_s=self._clock.monotonic_s(), earlier_s=earlier_s, note=note
            )

    def ply_to_take_back(self) -> int | None:
        """Give the count as it was before the last press, while that can still be undone."""
        if self.pending is not None or self._laid is None:
            return None
        return self._laid.laid - 1 if self._laid.stands(self._clock.monotonic_s()) else None

    async def lay(self, laid: int, *, undo: bool = False) -> None:
        """Count a ply, or take the last one back; the count is said, so that none counts twice."""
        self._laid = None if undo else Laid(laid=laid, at_s=self._clock.monotonic_s())
        try:
            answer = await self._link.send(PliesCommand(laid=laid))
        except OSError as error:
            self._laid = None
            self.say(f"ply not counted. {error}", ok=False)
        else:
            more = "" if undo or not answer.ok else f" - u within {TAKE_BACK_S:.0f} s takes it back"
            self.say(answer.text + more, ok=answer.ok)

    def take_back(self) -> None:
        """Drop the waiting mark; one that is on its way is said already."""
        if self.pending is not None and not self._sending:
            self.say(f"{spoken(self.pending.name)} taken back", ok=True)
            self.pending = None

    def say(self, text: str, *, ok: bool) -> None:
        """Answer a press on the bottom line."""
        shown = plain(text, ascii_only=self._ascii_only)
        self._said = Said(text=shown, ok=ok, at_s=self._clock.monotonic_s())

    def is_due(self) -> bool:
        """Tell whether the waiting mark's window is over and nobody sends it yet."""
        waiting = self.pending is not None and not self._sending
        return waiting and self._left_s() <= 0.0

    async def send_pending(self, *, at_leaving: bool = False) -> None:
        """Send the waiting mark now."""
        mark = self.pending
        if mark is None or self._sending:
            return
        self._sending = True
        snapshot = self._link.heard.snapshot
        rate = snapshot.clock_rate if snapshot is not None else 1.0
        try:
            answer = await self._link.send(mark.command(self._clock.monotonic_s(), rate))
        except NotReachedError:
            self._trouble = NOT_REACHED + (LEAVING if at_leaving else "")
        except NotAnsweredError as error:
            self.pending = None
            self.say(f"{spoken(mark.name)}: {error} Look whether it counted.", ok=False)
        else:
            self.pending = None
            self._tell(spoken(mark.name), answer)
        finally:
            self._sending = False

    async def acknowledge(self, alarm_id: str, name: str) -> None:
        """Say that an alarm was seen."""
        try:
            answer = await self._link.send(AcknowledgeCommand(id=alarm_id, by=AS_PANEL))
        except OSError as error:
            self.say(f"{name}: not said. {error}", ok=False)
        else:
            self.say(spoken(answer.text), ok=answer.ok)

    def bottom(self, otherwise: Line, cells: int) -> Line:
        """Give the line of a waiting mark or of the last answer, else the usual one."""
        now_s = self._clock.monotonic_s()
        if self.pending is not None:
            return pending_line(self.pending, now_s, self._trouble, cells)
        if self._said is not None and self._said.stands(now_s):
            return said_line(self._said, cells)
        return otherwise

    def _tell(self, name: str, answer: Answer) -> None:
        if answer.ok:
            self.say(f"{name}: {answer.text or 'noted'}", ok=True)
        else:
            self.say(f"{name} refused: {answer.text}", ok=False)

    def _left_s(self) -> float:
        now_s = self._clock.monotonic_s()
        return self.pending.left_s(now_s) if self.pending is not None else 0.0
