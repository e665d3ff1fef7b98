"""Bayes' rule in plain arithmetic: three cups worked by hand, and a bound against scipy."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.stats import truncnorm

from firmware_host.history.gaussian import Belief, independent

R = 8.31446261815324
CUPS = ((18.0, 1.5, 44.0), (24.0, 1.5, 26.0), (21.0, 2.0, 24.0))
"""degC, percent, minutes to gel."""
WORKED = (
    (37.10811, 1.000000, 58.13484, 0.070874, 0.350, 5.99480),
    (36.52122, 1.000000, 58.98481, 0.049638, 0.350, 5.35376),
    (36.27041, 1.100740, 58.98997, 0.046162, 0.226572, 5.35375),
)
"""t0, p, E in kJ/mol, and their sds, after each cup; recomputed by an independent program."""
CUP_SD = 0.07


def weights(temp_c: float, dose: float) -> dict[str, float]:
    hot = (1.0 / (temp_c + 273.15) - 1.0 / 293.15) / R * 1000.0
    return {"ln_t0": 1.0, "p": -math.log(dose / 1.5), "e": hot}


def prior() -> Belief:
    return independent(ln_t0=(math.log(30.0), 0.40), p=(1.0, 0.35), e=(58.0, 6.0))


def after(cups: int) -> Belief:
    belief = prior()
    for temp_c, dose, minutes in CUPS[:cups]:
        belief = belief.seen(weights(temp_c, dose), math.log(minutes), CUP_SD)
    return belief


@pytest.mark.parametrize("cups", [1, 2, 3])
def test_three_cups_teach_what_was_worked_out_by_hand(cups: int) -> None:
    belief = after(cups)
    found = [belief.expected({name: 1.0}) for name in ("ln_t0", "p", "e")]
    means = (math.exp(found[0].mean), found[1].mean, found[2].mean)
    assert (*means, *(one.sd for one in found)) == pytest.approx(WORKED[cups - 1], rel=2e-5)


@pytest.mark.parametrize(
    ("temp_c", "dose", "minutes", "sd"), [(16.0, 2.0, 36.934, 0.0993), (27.0, 1.0, 32.23, None)]
)
def test_the_next_cup_is_foretold_as_worked_by_hand(
    temp_c: float, dose: float, minutes: float, sd: float | None
) -> None:
    told = after(3).expected(weights(temp_c, dose))
    assert math.exp(told.mean) == pytest.approx(minutes, abs=0.006)
    if sd is not None:
        assert math.hypot(told.sd, CUP_SD) == pytest.approx(sd, abs=6e-5)


def test_the_order_of_what_was_seen_does_not_matter() -> None:
    forward, backward = after(3), prior()
    for temp_c, dose, minutes in reversed(CUPS):
        backward = backward.seen(weights(temp_c, dose), math.log(minutes), CUP_SD)
    assert backward.means == pytest.approx(forward.means, rel=1e-9)
    assert np.allclose(backward.covariances, forward.covariances, rtol=1e-9)


@pytest.mark.parametrize("bound", [-5.0, -1.0, 0.0, 1.5, 4.0])
def test_a_bound_moves_mean_and_spread_as_the_truncated_normal(bound: float) -> None:
    belief = independent(x=(0.3, 0.8)).seen_above({"x": 1.0}, bound, 1e-9)
    outside = truncnorm((bound - 0.3) / 0.8, np.inf, loc=0.3, scale=0.8)
    found = belief.expected({"x": 1.0})
    assert found.mean == pytest.approx(outside.mean(), rel=1e-6)
    assert found.sd == pytest.approx(outside.std(), rel=1e-5)


def test_a_bound_far_out_stays_a_number() -> None:
    found = independent(x=(0.0, 1.0)).seen_above({"x": 1.0}, 60.0, 1e-9).expected({"x": 1.0})
    assert found.mean == pytest.approx(60.0, rel=1e-2)
    assert 0.0 <= found.sd < 0.5


def test_a_number_forgotten_leaves_what_it_taught() -> None:
    belief = independent(a=(0.0, 1.0)).joined("b", 0.0, 1.0)
    belief = belief.seen({"a": 1.0, "b": 1.0}, 1.0, 0.1)
    before = belief.expected({"a": 1.0})
    assert belief.without("b").expected({"a": 1.0}) == before


def test_time_that_passes_adds_variance_to_one_number() -> None:
    belief = independent(a=(0.0, 0.3), b=(0.0, 0.3)).widened("a", 0.4)
    assert belief.expected({"a": 1.0}).sd == pytest.approx(0.5)
    assert belief.expected({"b": 1.0}).sd == pytest.approx(0.3)


def test_a_name_that_nothing_is_believed_of_is_refused() -> None:
    with pytest.raises(ValueError, match="nothing is believed of z"):
        prior().expected({"z": 1.0})
