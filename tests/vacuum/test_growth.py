"""A leak that opens or creeps up while the bag is shut, in closed form: a line that bends up."""

from __future__ import annotations

import numpy as np
import pytest

from firmware_host.vacuum.onset import LIKELY, onsets
from firmware_host.vacuum.rise import RiseEstimate, estimate_rise
from firmware_host.vacuum.shapes import ONSETS, growth_shares, shape_columns
from tests.vacuum.drop_tests import LIMIT_PA_PER_S, Array, Gauge, exponential, span_of, times

UNTIL_S, BLOCK_S = 400.0, 8.0


def in_blocks(time_s: Array, pressure_pa: Array) -> RiseEstimate:
    """Judge 2 s readings as the window hands them on: means of four."""
    blocks = len(time_s) // 4
    means = [x[: 4 * blocks].reshape(blocks, 4).mean(axis=1) for x in (time_s, pressure_pa)]
    found = estimate_rise(span_of(means[0], means[1], noise_pa=10.0), LIMIT_PA_PER_S)
    assert found is not None
    return found


@pytest.mark.parametrize("at_s", [61.0, 139.0, 215.0, 333.0])
@pytest.mark.parametrize("limits", [0.6, 6.0, 60.0])
def test_a_leak_that_opens_on_the_way_is_averaged_over_the_test(at_s: float, limits: float) -> None:
    time_s, before = times(UNTIL_S), 0.1 * LIMIT_PA_PER_S
    opened = limits * LIMIT_PA_PER_S
    settling = exponential((400.0, 30.0))(time_s)
    true = 6000.0 + before * time_s + settling + opened * np.maximum(time_s - at_s, 0.0)
    found = in_blocks(time_s, Gauge().read(true, 2.0, np.random.default_rng(21)))
    mean = before + opened * (1.0 - at_s / UNTIL_S)
    straight = mean * UNTIL_S < 50_000.0 - 6000.0
    assert found.rise_pa_per_s == pytest.approx(mean, rel=0.1 if straight else 0.35, abs=0.6)
    if straight:
        assert found.low_pa_per_s <= mean <= found.high_pa_per_s


@pytest.mark.parametrize("seed", range(4))
def test_a_leak_that_creeps_up_is_averaged_over_the_test(seed: int) -> None:
    """From a fifth of the limit to three times it: 1.6 limits in the mean."""
    time_s = times(UNTIL_S)
    first, last = 0.2 * LIMIT_PA_PER_S, 3.0 * LIMIT_PA_PER_S
    leaked = first * time_s + 0.5 * (last - first) * time_s**2 / UNTIL_S
    true = 6000.0 + leaked + exponential((400.0, 30.0))(time_s)
    found = in_blocks(time_s, Gauge().read(true, 2.0, np.random.default_rng(seed)))
    assert found.low_pa_per_s <= 0.5 * (first + last) <= found.high_pa_per_s
    assert found.rise_pa_per_s == pytest.approx(0.5 * (first + last), rel=0.1)


def test_likely_moments_gather_where_the_line_bends() -> None:
    time_s = np.arange(0.0, UNTIL_S, BLOCK_S)
    bent = 30.0 * np.maximum(time_s - 171.0, 0.0)
    at_s = onsets(time_s, bent, np.full(len(time_s), 100.0))
    assert len(at_s) == ONSETS
    assert list(at_s) == sorted(at_s)
    assert np.sum(np.abs(at_s - 171.0) < 1.25 * BLOCK_S) >= LIKELY


def test_moments_are_spread_where_nothing_bends() -> None:
    time_s = np.arange(0.0, UNTIL_S, BLOCK_S)
    at_s = onsets(time_s, 3.0 * time_s, np.full(len(time_s), 100.0))
    assert np.max(np.diff(np.concatenate([[0.0], at_s, [UNTIL_S]]))) < UNTIL_S / 4.0


def test_a_moment_is_as_likely_beforehand_as_the_time_that_it_stands_for() -> None:
    """However the moments are placed, every second has the same chance."""
    at_s = np.array([10.0, 12.0, 13.0, 14.0, 50.0, 120.0, 200.0, 280.0])
    share = growth_shares(at_s, 300.0)
    assert np.sum(share) == pytest.approx(1.0)
    nearest = np.argmin(np.abs(np.arange(0.5, 300.0)[:, None] - at_s), axis=1)
    seconds = np.bincount(nearest, minlength=ONSETS) / 300.0
    assert share[:-1] / np.sum(share[:-1]) == pytest.approx(seconds, abs=0.002)


def test_the_rise_after_an_onset_is_the_mean_over_its_block() -> None:
    """Against block means of the exact rise, at a thousandth of a block."""
    time_s = np.arange(4.0, UNTIL_S, BLOCK_S)
    at_s = np.array([33.0, 100.0, 250.7])
    inside = (np.arange(1000) + 0.5) / 1000.0 * BLOCK_S - BLOCK_S / 2.0
    exact = np.mean(np.maximum(time_s[:, None, None] + inside - at_s[:, None], 0.0), axis=2)
    opened = shape_columns(time_s, at_s)[:, -1 - len(at_s) : -1]
    assert opened == pytest.approx(exact, abs=0.01)
