"""A seeded sample of bags in closed form: does the interval hold the leak, is a verdict wrong?

The shapes are the textbook's, not the simulator's; half of them are not in the estimator's family.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from firmware_host.model.events import LeakChecked, Verdict
from tests.vacuum.drop_tests import (
    LIMIT_PA_PER_S,
    Array,
    Gauge,
    Watched,
    exponential,
    isolated,
    stretched,
    times,
)

BAGS = 28
UNTIL_S = 300.0
LEAKS = (0.0, 0.25, 0.5, 0.8, 1.25, 2.0, 4.0)
"""In units of the limit."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Bag:
    leak_pa_per_s: float
    kind: str
    test: LeakChecked
    words: tuple[Verdict, ...]


def settling(kind: str, rng: np.random.Generator) -> Callable[[Array], Array]:
    amplitude, tau_s = rng.uniform(100.0, 1500.0), 15.0 * 8.0 ** rng.uniform()
    if kind == "one":
        return exponential((amplitude, tau_s))
    if kind == "two":
        return exponential((0.6 * amplitude, tau_s), (0.4 * amplitude, 4.0 * tau_s))
    return stretched(amplitude, tau_s, 0.5)


def bag(number: int) -> Bag:
    rng = np.random.default_rng([2024, number])
    kind = ("one", "two", "stretched")[number % 3]
    leak = LEAKS[number % len(LEAKS)] * LIMIT_PA_PER_S
    gauge = Gauge(
        sigma_pa=(5.0, 20.0, 40.0)[number // 3 % 3],
        step_pa=(0.1, 26.9)[number % 2],
        wander_pa=(0.0, 15.0)[number // 2 % 2],
    )
    time_s = times(UNTIL_S)
    read = gauge.read(isolated(time_s, leak, settling(kind, rng)), 2.0, rng)
    watched = Watched()
    test = watched.take(time_s, read).open(UNTIL_S)
    words = tuple(said.verdict for said in watched.said)
    return Bag(leak_pa_per_s=leak, kind=kind, test=test, words=words)


def holds_truth(one: Bag) -> bool:
    low, high = one.test.rise_low_pa_per_s, one.test.rise_high_pa_per_s
    assert low is not None
    assert high is not None
    # A tight bag's leak is at the edge of what is possible: the interval cannot reach below 0.
    return low <= max(one.leak_pa_per_s, 0.25) and one.leak_pa_per_s <= high


def test_a_sample_of_bags_is_covered_and_never_called_wrong() -> None:
    bags = [bag(number) for number in range(BAGS)]
    wrong = [
        one
        for one in bags
        for word in one.words
        if word is (Verdict.TIGHT if one.leak_pa_per_s > LIMIT_PA_PER_S else Verdict.LEAKING)
    ]
    assert wrong == []
    assert np.mean([holds_truth(one) for one in bags]) >= 0.88
    far = [one for one in bags if not 0.8 <= one.leak_pa_per_s / LIMIT_PA_PER_S <= 1.25]
    assert np.mean([one.test.verdict is not Verdict.UNDECIDED for one in far]) >= 0.95
