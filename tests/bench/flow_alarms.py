"""Whole holds drawn at random: alarms recalled, how late, and false ones.

The plant is the ODE of `tests/vacuum/bench_bags.py`, the draw that of `tests/vacuum/campaign.py`.
"""

from __future__ import annotations

from tests.bench.figures import Found, Goal, Pair
from tests.vacuum.campaign import HEALTHY, KINDS, Score, campaign, summary

NAME = "flow_alarms"
GOAL = Goal(ratio=1.0)
FULL_SEEDS, SAMPLE_SEEDS = 8, 1
SAMPLE_KINDS = ("wet", "leak step", "leak creep, cycling", "worn")
MAY_MISS = 0.05


def run(seed: int, *, full: bool) -> Found:
    """Draw and judge every kind several times."""
    kinds = KINDS if full else SAMPLE_KINDS
    seeds = range(1000 * seed, 1000 * seed + (FULL_SEEDS if full else SAMPLE_SEEDS))
    scores = campaign(kinds, seeds)
    return Found(
        name=NAME,
        ours="alarms missed, and false alarms of any kind of hold",
        peer="a twentieth of the alarms that were due",
        goal=GOAL,
        pairs=(Pair(ours=_bad(scores), peer=max(MAY_MISS * _due(scores), 1.0)),),
        notes=tuple(summary(scores)),
    )


def _due(scores: list[Score]) -> int:
    return sum(one.kind not in HEALTHY for one in scores)


def _bad(scores: list[Score]) -> float:
    missed = sum(one.delay_s is None for one in scores if one.kind not in HEALTHY)
    return float(missed + sum(len(one.false) for one in scores))
