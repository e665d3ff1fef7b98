"""What the whole daemon costs beside a loop that only reads."""

from __future__ import annotations

from tests.bench.feed import healthy
from tests.bench.figures import Found, Goal, Pair
from tests.bench.live import live
from tests.bench.ptys import cpu_s

NAME = "daemon_cpu"
GOAL = Goal(ratio=1.5)
SLICE_S = 5.0
FULL_TURNS, SAMPLE_TURNS = 12, 4
WARM_S = 3.0
"""The first words of each couple are converted the long way, once."""


def run(seed: int, *, full: bool) -> Found:
    """Watch both over the same slices of time."""
    pairs = []
    with live(healthy(seed, 9600.0)) as both:
        both.speak(WARM_S)
        for _ in range(FULL_TURNS if full else SAMPLE_TURNS):
            before = cpu_s(both.daemon.pid), cpu_s(both.bare.pid)
            both.speak(SLICE_S)
            after = cpu_s(both.daemon.pid), cpu_s(both.bare.pid)
            pairs.append(
                Pair(
                    ours=1000.0 * (after[0] - before[0]) / SLICE_S,
                    peer=1000.0 * (after[1] - before[1]) / SLICE_S,
                )
            )
    return Found(
        name=NAME,
        ours="CPU time of the daemon at 6 channels x 10 Hz, ms a second",
        peer="the same of a loop of pyserial's readline() and float(), at the same time",
        goal=GOAL,
        pairs=tuple(pairs),
    )
