"""How many times as fast as it happened a job is judged from its serial bytes."""

from __future__ import annotations

from tests.bench.feed import PERIOD_S, Feed, Judge, healthy
from tests.bench.figures import Found, Goal, Pair

NAME = "replay_speed"
GOAL = Goal(ratio=2000.0, at_most=False)
FULL_S, SAMPLE_S = 9600.0, 3000.0
FULL_TURNS, SAMPLE_TURNS = 7, 3


def run(seed: int, *, full: bool) -> Found:
    """Judge the same job several times."""
    length_s = FULL_S if full else SAMPLE_S
    scenario = healthy(seed, length_s)
    given = Feed(scenario).until(length_s)
    pairs = []
    for _ in range(FULL_TURNS if full else SAMPLE_TURNS):
        taken = Judge(scenario).take(given)
        assert taken.samples > 0.99 * length_s / PERIOD_S
        pairs.append(Pair(ours=length_s, peer=taken.cpu_s))
    return Found(
        name=NAME,
        ours="time of the job, s; 6 channels at 10 Hz, from the pour on",
        peer="CPU time of decoder and core for all of it, s",
        goal=GOAL,
        pairs=tuple(pairs),
    )
