"""Runs of equal codes."""

from __future__ import annotations

import math

import numpy as np
import pytest

from firmware_host.channels.noise import NoiseScale
from firmware_host.channels.stuck import CodeRun, longest_run


def test_the_likeliest_code_rules_the_run() -> None:
    # s = 20 on a step of 26.9: P = erf(26.9 / (2 sqrt 2 20)) = 0.498772; ln 1e-9 / ln P = 29.8.
    assert math.erf(26.9 / (2.0 * math.sqrt(2.0) * 20.0)) == pytest.approx(0.498772, abs=1e-4)
    assert longest_run(20.0, 26.9) == 60


def test_noise_far_below_a_step_cannot_tell() -> None:
    assert longest_run(0.05, 1.0) is None


@pytest.mark.parametrize("sigma", [0.05, 0.2, 0.4, 0.7, 1.0, 3.0])
def test_hours_of_a_healthy_channel_never_look_stuck(sigma: float) -> None:
    rng = np.random.default_rng(11)
    noise, run = NoiseScale(0.001), CodeRun()
    level = np.cumsum(rng.normal(size=60000) * 0.002)
    for number, value in enumerate(np.round(level + sigma * rng.normal(size=60000))):
        noise.take(float(value))
        run.take(float(number), float(value))
        if noise.ordinary is not None and noise.tells_stuck:
            longest = longest_run(noise.ordinary, noise.step or 0.0)
            assert longest is None or run.length <= longest
