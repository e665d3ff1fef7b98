"""The scatter of the leak's estimate beside the least that theory allows.

The Cramer-Rao bound of p0 + r t + sum of A (1 - e^(-t/tau)), all unknown, under the noise that the
judge believes in, white and the weakest of its random walks: the inverse of J^T C^-1 J at the truth
(Kay, Estimation Theory, 3.9; from memory). Where two transients cannot be told from a leak, what is
known beforehand makes the estimate far better than the bound. Where the readings alone tell, it
scatters up to one and a half times (one transient) or twice (two) as much: the price of the models
that might have been.
"""

from __future__ import annotations

import numpy as np
import pytest

from firmware_host.vacuum.mixture import WALKS
from firmware_host.vacuum.rise import estimate_rise
from tests.vacuum.drop_tests import LIMIT_PA_PER_S, Array, exponential, isolated, span_of

SIGMA_PA, UNTIL_S, BLOCK_S = 20.0, 300.0, 5.0
WALK_PA2_PER_S = WALKS[0][0]
TESTS = 60
SAMPLING = 1.0 + 2.0 / (2.0 * TESTS) ** 0.5
"""A standard deviation from so few tests, at two of its own."""
TIME_S = np.arange(0.5, UNTIL_S, 1.0)

Transient = tuple[float, float]


def bound_pa_per_s(*transients: Transient) -> float:
    columns = [np.ones_like(TIME_S), TIME_S]
    for amplitude_pa, tau_s in transients:
        decay = np.exp(-TIME_S / tau_s)
        columns += [1.0 - decay, -amplitude_pa * TIME_S / tau_s**2 * decay]
    sensitivity = np.stack(columns, axis=1)
    noise = SIGMA_PA**2 * np.eye(len(TIME_S))
    noise += WALK_PA2_PER_S * np.minimum(TIME_S[:, None], TIME_S[None, :])
    information = sensitivity.T @ np.linalg.solve(noise, sensitivity)
    return float(np.linalg.inv(information)[1, 1] ** 0.5)


def scatter_pa_per_s(*transients: Transient) -> float:
    """Standard deviation of the estimate over seeded tests at 1 Hz, in blocks as the window's."""
    true = isolated(TIME_S, 2.0 * LIMIT_PA_PER_S, exponential(*transients))
    return float(np.std([_estimate(true, np.random.default_rng([51, n])) for n in range(TESTS)]))


def _estimate(true: Array, rng: np.random.Generator) -> float:
    walk = np.cumsum(rng.normal(0.0, WALK_PA2_PER_S**0.5, len(true)))
    read = true + walk + rng.normal(0.0, SIGMA_PA, len(true))
    time_s, means = (x.reshape(-1, int(BLOCK_S)).mean(axis=1) for x in (TIME_S, read))
    found = estimate_rise(span_of(time_s, means, noise_pa=SIGMA_PA / BLOCK_S**0.5), LIMIT_PA_PER_S)
    assert found is not None
    return found.rise_pa_per_s


@pytest.mark.parametrize(
    ("transients", "most"),
    [
        (((300.0, 20.0),), 1.5),
        (((1000.0, 30.0),), 1.5),
        (((1500.0, 45.0),), 1.5),
        (((600.0, 20.0), (400.0, 80.0)), 2.1),
        (((900.0, 40.0), (600.0, 160.0)), 0.2),
    ],
)
def test_the_estimate_scatters_as_little_as_its_models_allow(
    transients: tuple[Transient, ...], most: float
) -> None:
    assert scatter_pa_per_s(*transients) <= most * SAMPLING * bound_pa_per_s(*transients)
