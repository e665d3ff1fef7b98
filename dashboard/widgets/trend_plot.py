"""One trend, redrawn when it has changed; the app hands over a new one every 5 s at most."""

from __future__ import annotations

import re

from textual import events
from textual.content import Content
from textual.widgets import Static

from dashboard.plot import BLOCK, HASH, LIMIT, drawn
from dashboard.shown import Curve

_RUNS = re.compile(rf"{BLOCK}+|{HASH}+|{LIMIT}+|[^{BLOCK}{HASH}{LIMIT}]+")
_STYLES = {BLOCK: "ansi_bright_blue", HASH: "ansi_bright_blue", LIMIT: "ansi_bright_yellow"}


class TrendPlot(Static):
    """See the module."""

    def __init__(self, *, ascii_only: bool, id: str) -> None:  # noqa: A002 - the library's own name
        super().__init__("", id=id, markup=False)
        self._ascii_only = ascii_only
        self._curve: Curve | None = None
        self._rows: tuple[str, ...] = ()

    def show(self, curve: Curve) -> None:
        """Show this curve, unless it stands there already."""
        if curve != self._curve:
            self._curve = curve
            self._draw()

    def on_resize(self, event: events.Resize) -> None:
        """Draw for the new size."""
        del event
        self._draw()

    def _draw(self) -> None:
        if self._curve is None:
            return
        rows = drawn(self._curve, self.size.width, self.size.height, ascii_only=self._ascii_only)
        if rows != self._rows:
            self._rows = rows
            title, *picture = rows
            lines = [Content(title), *(Content.assemble(*coloured(row)) for row in picture)]
            self.update(Content("\n").join(lines), layout=False)  # its place does not depend on it


def coloured(row: str) -> list[tuple[str, str]]:
    """Tell curve and limit apart by colour too; their characters differ already."""
    return [(run, _STYLES.get(run[0], "dim")) for run in _RUNS.findall(row)]
