"""CPU time of learning from a thousand past jobs, and what a late one costs over an early one."""

from __future__ import annotations

import random
from time import process_time

from firmware_host.history.learn import learn, learn_one, unlearnt
from tests.bench.figures import Found, Goal, Pair
from tests.history.shops import POWER_LAW, SHOP_SD, jobs_of, shop_of

NAME = "learning_speed"
GOAL = Goal(ratio=1.0)
JOBS = 1000
FULL_TURNS, SAMPLE_TURNS = 15, 5
ALLOWED_S = 1.0
LATE_OVER_EARLY = 1.5
"""A busy machine's noise on two equal costs."""
PART = 200


def run(seed: int, *, full: bool) -> Found:
    """Learn all of them, several times."""
    rng = random.Random(seed)
    jobs = list(jobs_of(shop_of(rng), rng, JOBS))
    pairs, ratios = [], []
    for _ in range(FULL_TURNS if full else SAMPLE_TURNS):
        start_s = process_time()
        known = learn(unlearnt(POWER_LAW, SHOP_SD), jobs)
        pairs.append(Pair(ours=process_time() - start_s, peer=ALLOWED_S))
        assert known.shells == JOBS
        ratios.append(_late_over_early(seed))
    late = sorted(ratios)[len(ratios) // 2]
    assert late < LATE_OVER_EARLY, f"a late job costs {late:.2f} times an early one"
    return Found(
        name=NAME,
        ours=f"CPU time to learn from {JOBS} jobs, s",
        peer="what is allowed for it, s",
        goal=GOAL,
        pairs=tuple(pairs),
        notes=(f"one job after {JOBS - PART} costs {late:.2f} times one after {PART}",),
    )


def _late_over_early(seed: int) -> float:
    """Cost of jobs 800 to 1000 over that of 200 to 400; all cans are then in mind."""
    rng = random.Random(seed)
    known, cost = unlearnt(POWER_LAW, SHOP_SD), []
    jobs = list(jobs_of(shop_of(rng), rng, JOBS))
    for first in range(0, JOBS, PART):
        start_s = process_time()
        for job in jobs[first : first + PART]:
            known = learn_one(known, job)
        cost.append(process_time() - start_s)
    return cost[-1] / cost[1]
