"""A picture of the live screen as SVG that needs nothing from the network."""

from __future__ import annotations

import asyncio
import re
from contextlib import suppress
from pathlib import Path

from dashboard.app import Panel
from dashboard.client import Client
from firmware_host.clock import SystemClock

CELLS, ROWS = 80, 24
WITHIN_S = 10.0
"""Real time in which the trends must have come; the picture is taken without them then."""
_NOT_OURS = re.compile(
    r"@font-face\s*\{[^}]*\}\s*|<!--.*?-->\s*|<g [^>]*>\s*(?:<circle [^>]*/>\s*)+</g>\s*", re.DOTALL
)


async def picture_of(socket: Path, *, ascii_only: bool = False) -> str:
    """Draw the screen as it stands now; raises NotReachedError where no daemon answers."""
    clock = SystemClock()
    client = Client(socket, clock)
    await client.snapshot()
    panel = Panel(client, clock, ascii_only=ascii_only)
    async with panel.run_test(size=(CELLS, ROWS)) as pilot:
        with suppress(TimeoutError):  # a picture without trends is still a picture
            async with asyncio.timeout(WITHIN_S):
                await panel.complete.wait()
        panel.look()
        await pilot.pause()
        return ours_alone(panel.export_screenshot(title="bagvigil panel"))


def ours_alone(svg: str) -> str:
    """Strip what is not the panel's: fonts and remarks that point elsewhere, a window's buttons.

    >>> ours_alone("<style>@font-face { src: url('https://x/y'); } .a { }</style>")
    '<style>.a { }</style>'
    """
    return _NOT_OURS.sub("", svg)
