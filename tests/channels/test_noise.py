"""Learnt noise and step."""

from __future__ import annotations

import numpy as np
import pytest

from firmware_host.channels.noise import NoiseScale


def heard(values: np.ndarray) -> NoiseScale:
    noise = NoiseScale(0.001)
    for value in values:
        noise.take(float(value))
    return noise


@pytest.mark.parametrize("sigma", [0.6, 1.0, 3.0, 10.0])
def test_noise_of_a_step_or_more_is_learnt_to_a_third(sigma: float) -> None:
    white = np.random.default_rng(7).normal(size=2000) * sigma
    noise = heard(np.round(white))
    assert noise.ordinary is not None
    assert 0.6 * sigma < noise.ordinary < 1.2 * sigma


def test_a_spike_in_twenty_five_does_not_teach() -> None:
    rng = np.random.default_rng(1)
    values = rng.normal(size=400)
    values[::25] += 500.0
    clean = heard(rng.normal(size=400)).ordinary
    spiked = heard(values).ordinary
    assert clean is not None
    assert spiked is not None
    assert spiked < 2.0 * clean


def test_noise_that_grows_tenfold_is_seen_within_thirty_readings() -> None:
    rng = np.random.default_rng(2)
    noise = heard(rng.normal(size=300))
    assert not noise.grown
    for value in rng.normal(size=30) * 10.0:
        noise.take(float(value))
    assert noise.grown


def test_a_ramp_is_no_noise() -> None:
    rng = np.random.default_rng(3)
    noise = heard(np.arange(600) * 0.1 + rng.normal(size=600))
    assert noise.ordinary is not None
    assert noise.ordinary < 1.3


@pytest.mark.parametrize(("sigma", "tells"), [(0.05, False), (0.15, False), (0.6, True)])
def test_only_noise_near_a_step_lets_equal_codes_speak(sigma: float, tells: bool) -> None:  # noqa: FBT001 - a parameter
    rng = np.random.default_rng(5)
    level = np.cumsum(rng.normal(size=20000) * 0.002) + 0.5
    assert heard(np.round(level + sigma * rng.normal(size=20000))).tells_stuck is tells
