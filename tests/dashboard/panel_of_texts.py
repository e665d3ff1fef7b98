"""The panel on a real terminal, shown one text after the other wherever a snapshot holds one.

`python -m tests.dashboard.panel_of_texts hostile|harmless` leaves by itself after the last one.
"""

from __future__ import annotations

import asyncio
import sys

from dashboard.app import Panel
from dashboard.client import NotAnsweredError
from dashboard.heard import Heard
from firmware_host.clock import ManualClock
from firmware_host.model.commands import Answer
from tests.dashboard.parts import FakeLink, dirty
from tests.hostile_strings import LONE_SURROGATE, hostile_strings

PAINT_S = 0.02
"""A little longer than the library waits before it paints."""
WITHOUT_DAEMON_EVERY = 7
HARMLESS = 84
"""Twice through whatever the link does by turns: more of the same word sends nothing new."""


class TextsLink(FakeLink):
    """Says every text, has the panel look, and lets it paint."""

    def __init__(self, clock: ManualClock, texts: tuple[str, ...]) -> None:
        super().__init__(clock)
        self._texts = texts
        self.panel: Panel

    async def run(self) -> None:
        for number, text in enumerate(self._texts):
            self.say(dirty(text))
            self.answer = Answer(ok=number % 2 == 0, text=text)
            self.fails = NotAnsweredError(text) if number % 3 == 0 else None
            await self.panel.hands.acknowledge(text, text)
            await self._painted()
            if number % WITHOUT_DAEMON_EVERY == 0:
                self.heard = Heard(trouble=text)
                await self._painted()
        self.panel.exit()

    async def _painted(self) -> None:
        self.panel.look()
        await asyncio.sleep(PAINT_S)  # the real terminal is painted on real time


def main() -> None:
    """Show them."""
    hostile = (*hostile_strings(), LONE_SURROGATE)
    texts = hostile if sys.argv[1] == "hostile" else ("word",) * HARMLESS
    clock = ManualClock(1000.0)
    link = TextsLink(clock, texts)
    link.panel = Panel(link, clock)
    link.panel.bell = lambda: None  # type: ignore[method-assign]  # a bell is a control byte too
    link.panel.run(mouse=False)
    sys.exit(link.panel.return_code)


if __name__ == "__main__":
    main()
