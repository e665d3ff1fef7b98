"""What the page of a day costs beside matplotlib drawing every point; and what it shows of them."""

from __future__ import annotations

import re
import resource
import subprocess
import sys
from itertools import pairwise
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np

from tests.bench.figures import Found, Goal, Pair
from tests.bench.report_day import LAST_S, MIXED_S, SPIKE_AT_S, UNSEEN_S, Day, make_day

NAME = "report_24h"
GOAL = Goal(ratio=1.2)
FULL_TURNS, SAMPLE_TURNS = 15, 3
PEER = Path(__file__).with_name("report_peer.py")
_BAG_LINE = re.compile(r'<path d="([^"]*)"[^>]*stroke: #1f5a94; stroke-width: 1.1')
_POINT = re.compile(r"([ML]) (-?[0-9.]+) (-?[0-9.]+)")
LEFT, RIGHT = 0.046, 0.988
"""Where the chart's time line begins and ends, of its width."""
NEAR_PT, ASIDE_PT = 0.6, 12.0
SPIKE_PT, NOISE_PT = 15.0, 4.0
"""400 mbar on top of 12 is a third of the panel; the noise is a hairline."""


def run(seed: int, *, full: bool) -> Found:
    """Make the page and draw all points in turns, each in a process of its own."""
    pairs = []
    with TemporaryDirectory(prefix="bv-") as name:
        folder, day = make_day(Path(name), seed)
        peers = _in_memory(Path(name), day)
        for _ in range(FULL_TURNS if full else SAMPLE_TURNS):
            ours_s = _cpu_s([sys.executable, "-m", "firmware_host", "report", str(folder)])[0]
            whole_s, said = _cpu_s([sys.executable, str(PEER), *map(str, peers)])
            pairs.append(Pair(ours=ours_s, peer=whole_s - float(said)))
        seen = _shown((folder / "report.html").read_text(encoding="utf-8"))
    return Found(
        name=NAME,
        ours="CPU time of `bagvigil report` on a day of 6 channels x 10 Hz, from start to exit, s",
        peer="the same of matplotlib drawing all 6 x 864,000 points, already in memory, to SVG, s",
        goal=GOAL,
        pairs=tuple(pairs),
        notes=(seen,),
    )


def _in_memory(base: Path, day: Day) -> tuple[Path, Path]:
    path = base / "readings.npy"
    np.save(path, np.vstack((day.minutes, day.pressures_mbar, day.temperatures_c)))
    return path, base / "peer.svg"


def _cpu_s(command: list[str]) -> tuple[float, str]:
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    done = subprocess.run(command, check=True, capture_output=True, text=True)
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    spent_s = after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
    return spent_s, done.stdout


def _shown(page: str) -> str:
    """Make sure that one lone reading among 864,000 is seen, and that nothing bridges the gap."""
    chart = page[page.index("<svg") :]
    width = float(chart.partition('viewBox="0 0 ')[2].partition(" ")[0])
    line = _BAG_LINE.search(chart)
    assert line is not None, "the bag's line is not drawn"
    points = [(kind, float(x), float(y)) for kind, x, y in _POINT.findall(line[1])]

    def at(time_s: float) -> float:
        share = (time_s - (MIXED_S - 120.0)) / (LAST_S - (MIXED_S - 120.0))
        return width * (LEFT + share * (RIGHT - LEFT))

    def height(from_pt: float, to_pt: float) -> float:
        held = [y for _, x, y in points if from_pt <= x <= to_pt]
        return max(held) - min(held)

    spike = at(SPIKE_AT_S)
    tall = height(spike - NEAR_PT, spike + NEAR_PT)
    beside = height(spike - ASIDE_PT, spike - NEAR_PT)
    assert tall > SPIKE_PT > NOISE_PT > beside, f"spike {tall:.1f} pt, beside it {beside:.1f} pt"
    start, end = map(at, UNSEEN_S)
    bridges = [
        x
        for (_, before, _), (kind, x, _) in pairwise(points)
        if kind == "L" and before < 0.5 * (start + end) < x
    ]
    assert not bridges, "a line is drawn across the time that nobody watched"
    return (
        f"a lone reading stands {tall:.0f} pt high, noise {beside:.1f} pt; nothing across the gap"
    )
