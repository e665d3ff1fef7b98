"""How long `bagvigil plan` takes, as a whole process, beside the same interpreter loading numpy."""

from __future__ import annotations

import random
import subprocess
import sys
import tempfile
from pathlib import Path
from statistics import median
from time import perf_counter

import msgspec

from firmware_host.outputs.past_jobs import LEDGER_NAME, Entry, stamps_of
from firmware_host.outputs.record_schema import RECORD_NAME
from tests.bench.figures import Found, Goal, Pair
from tests.commands.pours import hatch
from tests.history.shops import jobs_of, shop_of

NAME = "plan_speed"
GOAL = Goal(ratio=2.0)
FULL_TURNS, SAMPLE_TURNS = 31, 9
JOBS = 1000
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
        keep_jobs(Path(folder) / "jobs", JOBS)
        old = median(_taken_ms(plan) / _taken_ms(peer) for _ in turns)
    return Found(
        name=NAME,
        ours="bagvigil plan --json, whole process, ms",
        peer='python -c "import numpy", whole process, ms',
        goal=GOAL,
        pairs=pairs,
        notes=(f"with {JOBS} past jobs to learn from: median ratio {old:.3g}",),
    )


def keep_jobs(base: Path, count: int) -> None:
    """Lay out a shop of so many past jobs, all of them read before."""
    rng = random.Random(count)
    jobs = {job.job: job for job in jobs_of(shop_of(rng), rng, count)}
    for name in jobs:
        (base / name).mkdir(parents=True)
        (base / name / RECORD_NAME).write_bytes(b"read before")
    lines = [
        msgspec.json.encode(Entry(folder=name, stamp=stamp, outcomes=(jobs[name],)))
        for name, stamp in stamps_of(base).items()
    ]
    (base / LEDGER_NAME).write_bytes(b"\n".join(lines) + b"\n")


def _taken_ms(command: list[str]) -> float:
    start_s = perf_counter()
    subprocess.run(command, check=True, stdout=subprocess.DEVNULL, timeout=PATIENCE_S)
    return 1000.0 * (perf_counter() - start_s)
