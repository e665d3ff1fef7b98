"""What judging a job from its serial bytes costs, beside a plain pass over the same bytes.

The peer splits each line at its commas and makes a float of each field, and that is all. Where it
takes 8 us a line, 24 times as much is 2,000 times as fast as it happened; a machine that others
use as well is slower by whatever it is, and so is its peer: the two take the job in turns, a slice
at a time, so that both meet the same neighbours.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from statistics import median
from time import process_time

from firmware_host.model.samples import Mark
from simulations.scenario import Scenario
from tests.bench.feed import PERIOD_S, Feed, Judge, healthy
from tests.bench.figures import Found, Goal, Pair

NAME = "replay_speed"
GOAL = Goal(ratio=24.0)
FULL_S, SAMPLE_S = 9600.0, 3000.0
FULL_TURNS, SAMPLE_TURNS = 7, 1
SLICE = 2000
"""Lines, or marks."""


def run(seed: int, *, full: bool) -> Found:
    """Judge the same job several times."""
    length_s = FULL_S if full else SAMPLE_S
    scenario = healthy(seed, length_s)
    given = Feed(scenario).until(length_s)
    pairs = []
    for _ in range(FULL_TURNS if full else SAMPLE_TURNS):
        pair, samples = _turn(scenario, given)
        assert samples > 0.99 * length_s / PERIOD_S
        pairs.append(pair)
    times = length_s / median(pair.ours for pair in pairs)
    return Found(
        name=NAME,
        ours="CPU time of decoder and core for a job of 6 channels at 10 Hz, s",
        peer="CPU time to split its lines and make floats of their fields, s",
        goal=GOAL,
        pairs=tuple(pairs),
        notes=(f"{length_s:.0f} s of the job, from the pour on: {times:.0f} x real time here",),
    )


def _turn(scenario: Scenario, given: Sequence[bytes | Mark]) -> tuple[Pair, int]:
    """Take the job once, both ways; give what they cost and how many samples there were."""
    judge, ours_s, plain_s, samples = Judge(scenario), 0.0, 0.0, 0
    for at in range(0, len(given), SLICE):
        some = given[at : at + SLICE]
        plain_s += _plain_s(some)
        taken = judge.take(some)
        ours_s, samples = ours_s + taken.cpu_s, samples + taken.samples
    return Pair(ours=ours_s, peer=plain_s), samples


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
