"""The peer: a bare Textual app with the panel's places, told beforehand what each will hold when.

No socket, no judging of what to show, no drawing of curves: a timer, and `Static.update` for what
changes. `python -m tests.bench.bare_panel SCHEDULE`; without a schedule it paints one line.
"""

from __future__ import annotations

import json
import sys
from pathlib import Path

from textual.app import App, ComposeResult
from textual.containers import Horizontal
from textual.content import Content
from textual.widgets import Static

from dashboard.layout import LINE_PLACES

LOOK_S = 0.5
BEGUN = "a bare app"


class Bare(App[None]):
    """See the module."""

    ENABLE_COMMAND_PALETTE = False
    CSS = """
    Screen { layout: vertical; overflow: hidden; }
    Static { width: 1fr; height: auto; }
    #numbers, #numbers Static { height: 7; }
    #trends, #trends Static { height: 1fr; }
    #alarm-box { display: none; }
    """

    def __init__(self, looks: list[dict[str, list[list[tuple[str, str]]]]]) -> None:
        super().__init__(ansi_color=True)
        self._looks = iter(looks)
        self._places: dict[str, Static] = {}

    def compose(self) -> ComposeResult:
        yield self._place("header")
        yield self._place("alarm-line")
        with Horizontal(id="numbers"):
            yield self._place("left")
            yield self._place("right")
        yield self._place("alarm-box")
        with Horizontal(id="trends"):
            yield self._place("bag-trend")
            yield self._place("laminate-trend")
        for name in LINE_PLACES:
            yield self._place(name)

    def on_mount(self) -> None:
        self.change()
        self.set_interval(LOOK_S, self.change)

    def change(self) -> None:
        for name, lines in next(self._looks, {}).items():
            shown = [Content.assemble(*((words, style) for words, style in line)) for line in lines]
            self._places[name].update(Content("\n").join(shown))

    def _place(self, name: str) -> Static:
        self._places[name] = Static("", id=name, markup=False)
        return self._places[name]


class OneLine(App[None]):
    """The least that a Textual app can be."""

    def compose(self) -> ComposeResult:
        yield Static(BEGUN)


def main() -> None:
    """Run until killed."""
    if len(sys.argv) > 1:
        Bare(json.loads(Path(sys.argv[1]).read_bytes())).run(mouse=False)
    else:
        OneLine().run(mouse=False)


if __name__ == "__main__":
    main()
