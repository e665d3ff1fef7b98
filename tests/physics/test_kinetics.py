"""Kinetics against closed forms, published sets and an independent integrator."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from firmware_host.physics.kinetics import (
    GAS_CONSTANT_J_PER_MOLK,
    T25_K,
    Kinetics,
    Progress,
    advance,
    arrhenius_factor,
    at_mixing,
    conversion_rate_per_s,
    growth_table,
)


def batch(
    *,
    t_ind_s: float = 1800.0,
    e_ind: float = 55000.0,
    k: float = 1e-3,
    e_k: float = 46000.0,
    seed: float = 0.03,
    m: float = 0.8,
    n: float = 1.4,
    limit: float = 0.7,
    throttled: bool = True,
) -> Kinetics:
    one = np.ones(1)
    return Kinetics(
        induction_per_s=one / t_ind_s if t_ind_s > 0.0 else one * np.inf,
        induction_j_per_mol=one * e_ind,
        rate_per_s=one * k,
        rate_j_per_mol=one * e_k,
        seed=one * seed,
        order_m=one * m,
        order_n=one * n,
        limit_at_20c=one * limit,
        limit_per_k=one * 0.0035,
        throttled=throttled,
    )


def kamal(k1: float, k2: float, m: float, n: float, t_s: float) -> float:
    kinetics = batch(t_ind_s=0.0, k=k2, e_k=0.0, seed=k1 / k2, m=m, n=n, throttled=False)
    return float(advance(kinetics, at_mixing(kinetics), T25_K, T25_K, t_s).conversion[0])


def test_arrhenius_agrees_with_an_open_kinetics_library() -> None:
    # Cantera 3.2.0: A = 1e8, E = 60 kJ/mol at 300 K gives 3.5749994217e-3.
    reference = 1e8 * np.exp(-60000.0 / (GAS_CONSTANT_J_PER_MOLK * 350.0))
    assert reference * float(arrhenius_factor(60000.0, 300.0, 350.0)) == pytest.approx(
        3.5749994217e-3, rel=1e-9
    )


def test_kamal_sourour_with_unit_orders_follows_its_closed_form() -> None:
    # Kamal & Sourour 1973, m = n = 1: a = (e^((k1+k2)t) - 1) / (e^((k1+k2)t) + k2/k1).
    k1, k2, t = 1e-4, 2e-3, 1800.0
    grown = np.exp((k1 + k2) * t)
    assert kamal(k1, k2, 1.0, 1.0, t) == pytest.approx((grown - 1) / (grown + k2 / k1), abs=5e-6)


@pytest.mark.parametrize(
    ("t_s", "expected"), [(600.0, 0.18820385909), (1200.0, 0.56284194451), (1800.0, 0.79126566150)]
)
def test_kamal_sourour_with_broken_orders_agrees_with_high_precision_values(
    t_s: float, expected: float
) -> None:
    # Integrated to 30 digits with mpmath and again with scipy at 1e-12.
    assert kamal(1e-4, 3e-3, 0.9, 1.5, t_s) == pytest.approx(expected, abs=5e-6)


@pytest.mark.parametrize(
    ("start_c", "ramp_k_per_min", "gel_s"),
    [
        (15.0, 0.1, 2282.7495182),
        (20.0, 0.5, 1205.2652119),
        (25.0, -0.1, 1338.6047283),
        (20.0, -0.05, 1913.1191035),
        (10.0, 0.0, 3993.7078512),
        (30.0, 0.0, 855.07173097),
    ],
)
def test_the_inhibitor_clock_ends_when_the_exponential_integral_says(
    start_c: float, ramp_k_per_min: float, gel_s: float
) -> None:
    # t_ind = 1800 s at 20 C, E = 55 kJ/mol; end times from mpmath exponential integrals.
    kinetics = batch(t_ind_s=1800.0 / float(arrhenius_factor(55000.0, T25_K, 293.15)))
    start_k = start_c + 273.15
    end_k = start_k + ramp_k_per_min / 60.0 * gel_s
    short = advance(kinetics, at_mixing(kinetics), start_k, end_k, gel_s)
    almost = advance(
        kinetics, at_mixing(kinetics), start_k, start_k + (end_k - start_k) * 0.999, gel_s * 0.999
    )
    assert float(short.inhibitor[0]) == pytest.approx(1.0, abs=1e-9)
    assert float(almost.inhibitor[0]) < 1.0


def test_a_changing_temperature_agrees_with_an_independent_integrator() -> None:
    kinetics = batch()
    times = np.array([0.0, 900.0, 1800.0, 2700.0, 3600.0, 7200.0])
    temps = np.array([295.0, 299.0, 305.0, 333.0, 318.0, 296.0])

    def rate(t: float, y: np.ndarray) -> list[float]:
        temp = float(np.interp(t, times, temps))
        return [float(conversion_rate_per_s(kinetics, np.array([y[0]]), temp)[0])]

    growing = Progress(np.ones(1), np.zeros(1))
    for i in range(len(times) - 1):
        growing = advance(kinetics, growing, temps[i], temps[i + 1], times[i + 1] - times[i])
    truth = solve_ivp(
        rate, (0.0, 7200.0), [0.0], method="LSODA", rtol=1e-10, atol=1e-12, max_step=30.0
    )
    assert float(growing.conversion[0]) == pytest.approx(float(truth.y[0, -1]), abs=2e-5)


def test_splitting_a_span_changes_nothing_that_matters() -> None:
    kinetics = batch(t_ind_s=600.0)
    whole = advance(kinetics, at_mixing(kinetics), 300.0, 310.0, 3600.0)
    parts = at_mixing(kinetics)
    for i in range(720):
        parts = advance(kinetics, parts, 300.0 + i / 72.0, 300.0 + (i + 1) / 72.0, 5.0)
    assert float(parts.conversion[0]) == pytest.approx(float(whole.conversion[0]), abs=2e-5)


def test_conversion_never_falls_and_never_passes_one() -> None:
    kinetics = batch(t_ind_s=0.0, k=0.05, limit=1.5)
    progress, last = at_mixing(kinetics), 0.0
    for _ in range(20):
        progress = advance(kinetics, progress, 330.0, 330.0, 30.0)
        now = float(progress.conversion[0])
        assert last <= now <= 1.0
        last = now


def test_cure_practically_stops_at_the_limit_for_its_temperature() -> None:
    kinetics = batch(t_ind_s=0.0)
    day = advance(kinetics, at_mixing(kinetics), 293.15, 293.15, 86400.0)
    two_days = advance(kinetics, day, 293.15, 293.15, 86400.0)
    assert float(day.conversion[0]) == pytest.approx(0.70, abs=0.08)
    assert float(two_days.conversion[0] - day.conversion[0]) < 0.02


def test_a_reaction_without_a_seed_is_refused() -> None:
    with pytest.raises(ValueError, match="seed must be above 0"):
        batch(seed=0.0)


def test_time_that_runs_backwards_is_refused() -> None:
    kinetics = batch()
    with pytest.raises(ValueError, match="runs backwards"):
        advance(kinetics, at_mixing(kinetics), 300.0, 300.0, -1.0)


def test_growth_time_agrees_with_stepping_to_the_gel() -> None:
    kinetics = batch(t_ind_s=0.0, limit=9.0, e_k=0.0)
    needed_s = float(growth_table(kinetics, 0.05).needed(np.zeros(1))[0]) / 1e-3
    there = advance(kinetics, at_mixing(kinetics), T25_K, T25_K, needed_s)
    assert float(there.conversion[0]) == pytest.approx(0.05, abs=1e-5)
