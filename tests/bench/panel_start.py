"""How long a person waits for the first screen, beside the least that a Textual app can be.

CPU time until the words stand on the terminal: what a busy machine does meanwhile does not count.
"""

from __future__ import annotations

import sys
from contextlib import closing
from pathlib import Path
from tempfile import TemporaryDirectory

from tests.bench.bare_panel import BEGUN
from tests.bench.figures import Found, Goal, Pair
from tests.bench.ptys import cpu_s
from tests.dashboard.terminal import Terminal

NAME = "panel_start"
GOAL = Goal(ratio=1.5)
FULL_TURNS, SAMPLE_TURNS = 21, 5
START_S = 30.0
FIRST_WORDS = b"not connected"


def _start_ms(command: list[str], words: bytes, compiled: Path) -> float:
    kept = {"PYTHONDONTWRITEBYTECODE": "", "PYTHONPYCACHEPREFIX": str(compiled)}
    with closing(Terminal(command, kept)) as terminal:
        terminal.listen_until(words, START_S)
        return 1000.0 * cpu_s(terminal.program.pid)


def run(seed: int, *, full: bool) -> Found:
    """Start both anew in turns; the first of each compiles, as installing does."""
    del seed  # there is nothing to draw
    pairs = []
    with TemporaryDirectory(prefix="bv-") as name:
        panel = [sys.executable, "-m", "firmware_host", "panel"]
        panel += ["--socket", str(Path(name) / "s.sock")]
        bare = [sys.executable, "-m", "tests.bench.bare_panel"]
        for turn in range(1 + (FULL_TURNS if full else SAMPLE_TURNS)):
            pair = Pair(
                ours=_start_ms(panel, FIRST_WORDS, Path(name)),
                peer=_start_ms(bare, BEGUN.encode(), Path(name)),
            )
            pairs += [pair] if turn else []
    return Found(
        name=NAME,
        ours="CPU time from `bagvigil panel` to its first screen, ms",
        peer="of a Textual app that shows one line, to that line",
        goal=GOAL,
        pairs=tuple(pairs),
    )
