"""How long `bagvigil plan` takes, as a whole process, beside the same interpreter loading numpy."""

from __future__ import annotations

import subprocess
import sys
import tempfile
from pathlib import Path
from time import perf_counter

from tests.bench.figures import Found, Goal, Pair
from tests.commands.pours import hatch

NAME = "plan_speed"
GOAL = Goal(ratio=2.0)
FULL_TURNS, SAMPLE_TURNS = 31, 9
PATIENCE_S = 60.0


def run(seed: int, *, full: bool) -> Found:
    """Take turns, so that a busy machine slows both alike."""
    del seed  # nothing is drawn
    with tempfile.TemporaryDirectory() as folder:
        job = Path(folder) / "job.toml"
        job.write_text(hatch(), encoding="utf-8")
        plan = [sys.executable, "-m", "firmware_host", "plan", str(job), "--json"]
        peer = [sys.executable, "-c", "import numpy"]
        _taken_ms(plan), _taken_ms(peer)
        turns = range(FULL_TURNS if full else SAMPLE_TURNS)
        pairs = tuple(Pair(ours=_taken_ms(plan), peer=_taken_ms(peer)) for _ in turns)
    return Found(
        name=NAME,
        ours="bagvigil plan --json, whole process, ms",
        peer='python -c "import numpy", whole process, ms',
        goal=GOAL,
        pairs=pairs,
    )


def _taken_ms(command: list[str]) -> float:
    start_s = perf_counter()
    subprocess.run(command, check=True, stdout=subprocess.DEVNULL, timeout=PATIENCE_S)
    return 1000.0 * (perf_counter() - start_s)
