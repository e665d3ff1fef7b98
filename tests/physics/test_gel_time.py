"""The gel law of one batch, against the population's kinetics and an outside integrator."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from scipy.integrate import quad, solve_ivp

from firmware_host.physics.gel_time import GelLaw, steady_equivalent_k

POLYESTER = GelLaw(
    reference_percent=1.5,
    induction_min_at_25c=36.0,
    induction_j_per_mol=52_000.0,
    induction_exponent=0.8,
    rate_at_25c_per_s=1.0e-3,
    rate_j_per_mol=46_000.0,
    rate_exponent=0.48,
    seed=0.03,
    order_m=0.8,
    order_n=1.4,
    gel_conversion=0.05,
    limit_at_20c=0.70,
    limit_per_k=0.0035,
)
EPOXY = replace(
    POLYESTER,
    reference_percent=0.0,
    rate_at_25c_per_s=3.8e-4,
    rate_j_per_mol=50_000.0,
    seed=0.05,
    order_m=1.0,
    order_n=2.0,
    gel_conversion=0.55,
    limit_at_20c=0.76,
    limit_per_k=0.0058,
)
R = 8.31446261815324


def rate_per_min(law: GelLaw, alpha: float, temp_k: float, dose: float) -> float:
    k = 60.0 * law.rate_at_25c_per_s
    k *= math.exp(-law.rate_j_per_mol / R * (1.0 / temp_k - 1.0 / 298.15))
    k *= dose**law.rate_exponent
    limit = law.limit_at_20c + law.limit_per_k * (temp_k - 293.15)
    held = 1.0 / (1.0 + math.exp(50.0 * (alpha - limit + 0.05)))
    return float(k * (law.seed + alpha**law.order_m) * (1.0 - alpha) ** law.order_n * held)


@pytest.mark.parametrize("temp_c", [5.0, 15.0, 25.0, 35.0])
@pytest.mark.parametrize(("law", "percent"), [(POLYESTER, 1.0), (POLYESTER, 2.3), (EPOXY, 0.0)])
def test_growth_agrees_with_an_outside_integrator(
    law: GelLaw, percent: float, temp_c: float
) -> None:
    temp_k = temp_c + 273.15
    dose = percent / 1.5 if percent else 1.0
    grown, _ = quad(lambda x: 1.0 / rate_per_min(law, x, temp_k, dose), 0.0, law.gel_conversion)
    waited = 0.0
    if percent:
        slower = math.exp(law.induction_j_per_mol / R * (1.0 / temp_k - 1.0 / 298.15))
        waited = law.induction_min_at_25c * slower * dose**-0.8
    assert law.gel_min(temp_k, percent) == pytest.approx(waited + grown, rel=2e-4)


def test_a_scaled_law_is_later_by_its_scale() -> None:
    later = replace(POLYESTER, scale=1.7)
    assert later.gel_min(290.0, 2.0) == pytest.approx(1.7 * POLYESTER.gel_min(290.0, 2.0))


def test_a_part_that_warms_up_gels_when_an_outside_integrator_says() -> None:
    """From 12 to 24 C with a time constant of 20 min: induction, then growth, by scipy."""

    def temp_k(minute: float) -> float:
        return 297.15 - 12.0 * math.exp(-minute / 20.0)

    def burnt(minute: float, _: list[float]) -> list[float]:
        slower = math.exp(52_000.0 / R * (1.0 / temp_k(minute) - 1.0 / 298.15))
        return [1.0 / (36.0 * slower)]

    def gone(_: float, z: list[float]) -> float:
        return z[0] - 1.0

    def grows(minute: float, alpha: list[float]) -> list[float]:
        return [rate_per_min(POLYESTER, float(np.maximum(alpha[0], 0.0)), temp_k(minute), 1.0)]

    def gelled(_: float, alpha: list[float]) -> float:
        return alpha[0] - 0.05

    gone.terminal = gelled.terminal = True  # type: ignore[attr-defined]  # how scipy is told to stop
    tight = {"rtol": 1e-9, "atol": 1e-12}
    start = solve_ivp(burnt, (0.0, 500.0), [0.0], events=gone, **tight).t_events[0][0]
    end = solve_ivp(grows, (start, 500.0), [0.0], events=gelled, **tight).t_events[0][0]
    ours = POLYESTER.gel_min_while_drifting(285.15, 297.15, 20.0, 1.5)
    assert ours == pytest.approx(end, rel=1e-3)


def test_the_steady_equivalent_gels_at_the_same_minute() -> None:
    temp_k = steady_equivalent_k(POLYESTER, 60.0, 1.5)
    assert POLYESTER.gel_min(temp_k, 1.5) == pytest.approx(60.0)


def test_a_resin_that_needs_initiator_refuses_none() -> None:
    with pytest.raises(ValueError, match="never starts"):
        POLYESTER.gel_min(293.15, 0.0)


def test_no_temperature_below_zero_kelvin_is_taken() -> None:
    with pytest.raises(ValueError, match="must be above 0"):
        POLYESTER.gel_min(0.0, 1.5)
