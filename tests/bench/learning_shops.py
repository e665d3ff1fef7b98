"""How near the learnt forecast comes to the best possible, and how often its window holds.

200 shops are drawn apart from the prior. The peer knows the true spreads and takes all jobs of a
shop at once by generalised least squares, which is the exact posterior and so the best median
error that scatter allows; ours goes job by job and keeps a dozen numbers.
"""

from __future__ import annotations

import math
import random
from collections.abc import Sequence
from statistics import median

import numpy as np

from firmware_host.history.learn import forecast, learn, unlearnt
from firmware_host.history.outcomes import Outcome
from firmware_host.physics.gel_time import GAS_CONSTANT_J_PER_MOLK, T20_K
from tests.bench.figures import Found, Goal, Pair
from tests.history.shops import (
    ACTIVATION_SD_J_PER_MOL,
    CAN_SD,
    EXPONENT_SD,
    JOB_SD,
    POWER_LAW,
    SHOP_SD,
    jobs_of,
    shop_of,
)

NAME = "learning_shops"
GOAL = Goal(ratio=1.15)
SHOPS = 200
FULL_TURNS, SAMPLE_TURNS = 9, 3
SEEN = (3, 8)
MOST_JOBS = 12
TWO_SIDED_95 = 1.959963984540054
COVER_LOW, COVER_HIGH = 0.92, 0.98


def run(seed: int, *, full: bool) -> Found:
    """Draw shops, forecast each next job, and hold errors against the exact posterior's."""
    pairs, covers, notes = [], [0] * MOST_JOBS, []
    turns = FULL_TURNS if full else SAMPLE_TURNS
    for turn in range(turns):
        errors = _turn(random.Random(1000 * seed + turn), covers)
        for seen in SEEN:
            ours, best = (median(found) for found in errors[seen])
            pairs.append(Pair(ours=100.0 * ours, peer=100.0 * best))
            notes.append(f"turn {turn + 1}, after {seen} jobs: {ours:.2%} against {best:.2%}")
    shares = [cover / (turns * SHOPS) for cover in covers]
    notes.append("held by the 95 % window, job 1 on: " + " ".join(f"{s:.3f}" for s in shares))
    low, high = min(shares), max(shares)
    assert COVER_LOW <= low <= high <= COVER_HIGH, notes[-1]
    return Found(
        name=NAME,
        ours="median error of the forecast gel of the next job, %, learnt job by job",
        peer="the same by the exact posterior of all jobs with the true spreads, %",
        goal=GOAL,
        pairs=tuple(pairs),
        notes=tuple(notes),
    )


def _turn(rng: random.Random, covers: list[int]) -> dict[int, tuple[list[float], list[float]]]:
    errors: dict[int, tuple[list[float], list[float]]] = {seen: ([], []) for seen in SEEN}
    for _ in range(SHOPS):
        jobs = list(jobs_of(shop_of(rng), rng, MOST_JOBS))
        known = unlearnt(POWER_LAW, SHOP_SD)
        for seen, job in enumerate(jobs):
            assert job.temp_k is not None and job.gel_min is not None
            told = forecast(known, job.temp_k, job.dose_percent, job.lot)
            off = math.log(job.gel_min) - told.mean
            covers[seen] += abs(off) <= TWO_SIDED_95 * told.sd
            if seen in errors:
                errors[seen][0].append(abs(off))
                errors[seen][1].append(abs(math.log(job.gel_min) - _best(jobs[:seen], job)))
            known = learn(known, [job])
    return errors


def _best(seen: Sequence[Outcome], job: Outcome) -> float:
    """Exact posterior mean of the next ln gel: everything is Gaussian, so it is one solve."""
    every = [*seen, job]
    rows = np.array([_row(one) for one in every])
    prior = np.diag([SHOP_SD**2, EXPONENT_SD**2, ACTIVATION_SD_J_PER_MOL**2])
    same_can = np.array([[one.lot == other.lot for other in every] for one in every])
    whole = rows @ prior @ rows.T + CAN_SD**2 * same_can + JOB_SD**2 * np.eye(len(every))
    off = np.array([math.log((one.gel_min or 0.0) / _law_min(one)) for one in seen])
    return math.log(_law_min(job)) + float(whole[-1, :-1] @ np.linalg.solve(whole[:-1, :-1], off))


def _row(job: Outcome) -> list[float]:
    assert job.temp_k is not None
    hot = (1.0 / job.temp_k - 1.0 / T20_K) / GAS_CONSTANT_J_PER_MOLK
    return [1.0, -math.log(job.dose_percent / 1.5), hot]


def _law_min(job: Outcome) -> float:
    assert job.temp_k is not None
    return POWER_LAW.gel_min(job.temp_k, job.dose_percent)
