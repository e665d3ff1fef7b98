"""What judging a job from its serial bytes costs, beside a plain pass over the same bytes.

The peer splits each line at its commas and makes a float of each field, and that is all. Where it
takes 8 us a line, 24 times as much is 2,000 times as fast as it happened; a machine that others
use as well is slower by whatever it is, and so is its peer.
"""

from __future__ import annotations

from collections.abc import Iterable
from statistics import median
from time import process_time

from firmware_host.model.samples import Mark
from tests.bench.feed import PERIOD_S, Feed, Judge, healthy
from tests.bench.figures import Found, Goal, Pair

NAME = "replay_speed"
GOAL = Goal(ratio=24.0)
FULL_S, SAMPLE_S = 9600.0, 3000.0
FULL_TURNS, SAMPLE_TURNS = 7, 2


def run(seed: int, *, full: bool) -> Found:
    """Judge the same job several times."""
    length_s = FULL_S if full else SAMPLE_S
    scenario = healthy(seed, length_s)
    given = Feed(scenario).until(length_s)
    pairs = []
    for _ in range(FULL_TURNS if full else SAMPLE_TURNS):
        plain_s = _plain_s(given)
        taken = Judge(scenario).take(given)
        assert taken.samples > 0.99 * length_s / PERIOD_S
        pairs.append(Pair(ours=taken.cpu_s, peer=plain_s))
    times = length_s / median(pair.ours for pair in pairs)
    return Found(
        name=NAME,
        ours="CPU time of decoder and core for a job of 6 channels at 10 Hz, s",
        peer="CPU time to split its lines and make floats of their fields, s",
        goal=GOAL,
        pairs=tuple(pairs),
        notes=(f"{length_s:.0f} s of the job, from the pour on: {times:.0f} x real time here",),
    )


def _plain_s(given: Iterable[bytes | Mark]) -> float:
    lines = [one for one in given if isinstance(one, bytes)]
    begun_s = process_time()
    for line in lines:
        for field in line.split(b","):
            try:
                float(field)
            except ValueError:
                continue
    return process_time() - begun_s
