"""Kinetics against check values that were made elsewhere: mpmath to 25 digits, scipy, cantera.

Constants that a row does not name: R = 8.31446261815324 J/(mol K), 0 C = 273.15 K, rates at 20 C.
Where a row says "mpmath" the value was integrated to 25 digits and again by a second program;
closed forms are evaluated here once more, so that a copied digit shows.
"""

from __future__ import annotations

from dataclasses import replace

import cantera
import mpmath
import numpy as np
import pytest

from firmware_host.config.presets import PRESETS
from firmware_host.physics.gel_time import GelLaw
from firmware_host.physics.kinetics import (
    GAS_CONSTANT_J_PER_MOLK,
    T25_K,
    Kinetics,
    Progress,
    advance,
    arrhenius_factor,
    conversion_rate_per_s,
    induction_gain,
)

T20_K, ZERO_K = 293.15, 273.15
NO_SEED = 1e-12
"""The laws below start from a stated conversion, not by themselves."""
HISTORY = ((0.0, 20.0), (1800.0, 22.0), (2700.0, 60.0), (3600.0, 45.0), (7200.0, 22.0))


def batch(
    k20: float,
    e_j: float = 0.0,
    *,
    seed: float = NO_SEED,
    m: float = 0.0,
    n: float = 1.0,
    ac: float | None = None,
) -> Kinetics:
    """A batch without an inhibitor, its rate given at 20 C; `ac` is where it is half throttled."""
    one = np.ones(1)
    k25 = k20 * float(arrhenius_factor(e_j, T25_K, T20_K))
    return Kinetics(
        induction_per_s=one * np.inf,
        induction_j_per_mol=one * e_j,
        rate_per_s=one * k25,
        rate_j_per_mol=one * e_j,
        seed=one * seed,
        order_m=one * m,
        order_n=one * n,
        limit_at_20c=one * (9.0 if ac is None else ac + 0.05),
        limit_per_k=np.zeros(1),
        throttled=ac is not None,
    )


def grown(
    kinetics: Kinetics, start: float, points: tuple[tuple[float, float], ...], step_s: float
) -> float:
    """Conversion after going through points of (s, degC), linear between."""
    progress = Progress(np.ones(1), np.full(1, start))
    for (t0, c0), (t1, c1) in zip(points, points[1:], strict=False):
        pieces = max(1, round((t1 - t0) / step_s))
        for i in range(pieces):
            first, last = (c0 + (c1 - c0) * (i + j) / pieces + ZERO_K for j in (0, 1))
            progress = advance(kinetics, progress, first, last, (t1 - t0) / pieces)
    return float(progress.conversion[0])


def steady(kinetics: Kinetics, start: float, span_s: float) -> float:
    return grown(kinetics, start, ((0.0, 20.0), (span_s, 20.0)), 10.0)


@pytest.mark.parametrize(
    ("e_j", "expected"), [(55000.0, 2.1050865498), (60000.0, 2.2524654297)]
)  # mpmath
def test_the_rate_from_20_to_30_c(e_j: float, expected: float) -> None:
    assert float(arrhenius_factor(e_j, 303.15, T20_K)) == pytest.approx(expected, rel=1e-9)


def test_the_activation_that_doubles_a_rate() -> None:
    # mpmath: doubling from 20 to 30 C, and from 15 to 25 C.
    for e_j, low_k in ((51216.172224, 293.15), (49512.298014, 288.15)):
        assert float(arrhenius_factor(e_j, low_k + 10.0, low_k)) == pytest.approx(2.0, rel=1e-9)


def test_maturity_and_styrene_follow_the_same_law() -> None:
    # Concrete maturity, Q = E/R = 5000 K (ASTM C1074, from memory): 1.7552820280 from 20 to 30 C.
    q_j = 5000.0 * GAS_CONSTANT_J_PER_MOLK
    assert float(arrhenius_factor(q_j, 303.15, T20_K)) == pytest.approx(1.7552820280, rel=1e-9)
    # IUPAC benchmark of styrene's propagation, 10^7.630 exp(-32.51 kJ/RT): 86 at 25, 69 at 20 C.
    k25 = 10.0**7.630 * np.exp(-32510.0 / (GAS_CONSTANT_J_PER_MOLK * T25_K))
    assert k25 == pytest.approx(85.999200769, rel=1e-9)
    k20 = k25 * float(arrhenius_factor(32510.0, T20_K, T25_K))
    assert k20 == pytest.approx(68.762430516, rel=1e-9)


@pytest.mark.parametrize("temp_k", [280.0, 300.0, 330.0, 420.0])
def test_a_combustion_library_gives_the_same_rates(temp_k: float) -> None:
    """Cantera's Arrhenius rate; its units are J/kmol."""
    rate = cantera.ArrheniusRate(1e8, 0.0, 60e6)
    ours = rate(350.0) * float(arrhenius_factor(60000.0, temp_k, 350.0))
    assert ours == pytest.approx(rate(temp_k), rel=1e-9)


@pytest.mark.parametrize(
    ("n", "expected"),
    [(1.0, 0.83470111178), (1.5, 0.72299168975), (2.0, 0.64285714286), (0.5, 0.99)],
)
def test_a_reaction_of_nth_order_follows_its_closed_form(n: float, expected: float) -> None:
    # k 1e-3 /s for 1800 s. a = 1 - [1 + (n-1) k t]^(-1/(n-1)); 1 - exp(-k t) for n = 1; mpmath.
    kt = mpmath.mpf("1.8")
    closed = 1 - (mpmath.e**-kt if n == 1.0 else (1 + (n - 1) * kt) ** (-1 / (mpmath.mpf(n) - 1)))
    assert float(closed) == pytest.approx(expected, abs=1e-10)
    assert steady(batch(1e-3, n=n), 0.0, 1800.0) == pytest.approx(expected, abs=2e-6)


def test_an_order_below_one_ends_and_stays_at_one() -> None:
    # n = 0.5, k 1e-3: the end is reached at 1/((1-n) k) = 2000 s.
    after = steady(batch(1e-3, n=0.5), 0.0, 2600.0)
    assert after == pytest.approx(1.0, abs=1e-6)
    assert after <= 1.0


@pytest.mark.parametrize(
    ("k", "m", "start", "expected"),
    [
        (1e-3, 0.5, 0.001, 0.46465390260),
        (5e-3, 1.0, 0.001, 0.89024491447),
        (2e-3, 0.8, 0.01, 0.63686127536),
    ],
)
def test_autocatalysis_of_second_total_order_follows_its_closed_form(
    k: float, m: float, start: float, expected: float
) -> None:
    # m + n = 2, u = a/(1-a): u^(1-m) = u0^(1-m) + (1-m) k t; u0 e^(kt) for m = 1. 1800 s; mpmath.
    u0, kt = mpmath.mpf(start) / (1 - mpmath.mpf(start)), mpmath.mpf(k) * 1800
    rest = 1 - mpmath.mpf(m)
    u = u0 * mpmath.e**kt if m == 1.0 else (u0**rest + rest * kt) ** (1 / rest)
    assert float(u / (1 + u)) == pytest.approx(expected, abs=1e-10)
    ours = steady(batch(k, m=m, n=2.0 - m), start, 1800.0)
    assert ours == pytest.approx(expected, abs=2e-6)


def test_autocatalysis_is_fastest_at_half_its_order() -> None:
    # k 2e-3, m .8, a0 .01: fastest at a = m/2 after 1307.9992850 s (mpmath).
    kinetics = batch(2e-3, m=0.8, n=1.2)
    assert steady(kinetics, 0.01, 1307.9992850) == pytest.approx(0.4, abs=2e-6)
    before, at, after = (
        float(conversion_rate_per_s(kinetics, np.array([a]), T20_K)[0]) for a in (0.39, 0.4, 0.41)
    )
    assert before < at > after


def test_a_reaction_that_feeds_itself_does_not_start_from_nothing() -> None:
    """With m > 0 and no seed, 0 is a fixed point; the closed form would silently say 0.4475."""
    with pytest.raises(ValueError, match="seed must be above 0"):
        batch(1e-3, seed=0.0, m=0.5, n=1.5)


def test_kamal_sourour_and_its_fastest_moment() -> None:
    # m = n = 1, k1 1e-4, k2 2e-3, 1800 s: 0.67092913586; fastest at a = 0.475, 1426.5391779 s.
    k1, k2 = 1e-4, 2e-3
    kinetics = batch(k2, seed=k1 / k2, m=1.0, n=1.0)
    assert steady(kinetics, 0.0, 1800.0) == pytest.approx(0.67092913586, abs=2e-6)
    assert steady(kinetics, 0.0, 1426.5391779) == pytest.approx(0.475, abs=2e-6)


@pytest.mark.parametrize(("target", "span_s"), [(0.5, 2704.2897025), (0.75, 4132.9448344)])
def test_a_softer_throttle_reaches_its_middle_when_its_integral_says(
    target: float, span_s: float
) -> None:
    # k 1e-3, m .8 n 1.2, a0 .02, steepness 30 around 0.75; mpmath.
    kinetics = replace(batch(1e-3, m=0.8, n=1.2, ac=0.75), steepness=30.0)
    assert steady(kinetics, 0.02, span_s) == pytest.approx(target, abs=5e-6)


@pytest.mark.parametrize("target", [0.5, 0.65])
def test_the_throttle_slows_as_an_integral_of_its_inverse_says(target: float) -> None:
    # k 1e-3, m .8 n 1.2, a0 .02, steepness 50 around 0.70: mpmath's quadrature of da / rate.
    m, n = mpmath.mpf("0.8"), mpmath.mpf("1.2")

    def inverse(a: mpmath.mpf) -> mpmath.mpf:
        return (1 + mpmath.e ** (50 * (a - mpmath.mpf("0.7")))) / (a**m * (1 - a) ** n * 1e-3)

    span_s = float(mpmath.quad(inverse, [0.02, 0.1, 0.4, target]))
    kinetics = batch(1e-3, m=0.8, n=1.2, ac=0.70)
    assert steady(kinetics, 0.02, span_s) == pytest.approx(target, abs=5e-6)


def test_a_ramp_cures_as_the_exponential_integral_says() -> None:
    # n 1.5, A 1e8 /s, E 60 kJ/mol, 2 K/min from 20 to 80 C: 0.99904181643. The integral of
    # exp(-E/RT) dT over it is 2.0870292353e-8 K, three ways in mpmath.
    e_r = mpmath.mpf(60000) / mpmath.mpf(GAS_CONSTANT_J_PER_MOLK)
    area = mpmath.quad(lambda t: mpmath.e ** (-e_r / t), [T20_K, 353.15])
    assert float(area) == pytest.approx(2.0870292353e-8, rel=1e-9)
    k20 = 1e8 * float(mpmath.e ** (-e_r / mpmath.mpf(T20_K)))
    ours = grown(batch(k20, 60000.0, n=1.5), 0.0, ((0.0, 20.0), (1800.0, 80.0)), 10.0)
    assert ours == pytest.approx(0.99904181643, abs=2e-6)


@pytest.mark.parametrize(
    ("per_min", "peak_k"),
    [(2.0, 391.303624), (5.0, 405.250565), (10.0, 416.451971), (20.0, 428.263451)],
)
def test_a_scan_is_fastest_where_kissinger_says(per_min: float, peak_k: float) -> None:
    # n = 1, A 1e8 /s, E 80 kJ/mol: beta E / (R Tp^2) = A exp(-E / (R Tp)); scipy, pkynetics.
    e_j, step_k = 80000.0, 0.5
    k20 = 1e8 * float(np.exp(-e_j / (GAS_CONSTANT_J_PER_MOLK * T20_K)))
    kinetics, progress = batch(k20, e_j), Progress(np.ones(1), np.zeros(1))
    temps_k = peak_k - 60.0 + step_k * np.arange(160)
    rates = []
    for temp_k in temps_k:
        rates.append(float(conversion_rate_per_s(kinetics, progress.conversion, temp_k)[0]))
        progress = advance(kinetics, progress, temp_k, temp_k + step_k, 60.0 * step_k / per_min)
    top = int(np.argmax(rates))
    bend, slope, _ = np.polyfit(temps_k[top - 2 : top + 3] - peak_k, rates[top - 2 : top + 3], 2)
    assert -slope / (2.0 * bend) == pytest.approx(0.0, abs=0.02)


@pytest.mark.parametrize(
    ("points", "theta", "alpha"),
    [
        (2, 2.3443246999, 0.40769509974),
        (3, 9.1708295226, 0.98448036715),
        (5, 34.917582851, 0.99995621390),
    ],
)
def test_a_warm_afternoon_adds_up_to_its_integral(points: int, theta: float, alpha: float) -> None:
    # E 58 kJ/mol, k20 1.2e-3 /s, m .8 n 1.2, a0 .02 along HISTORY; mpmath, and scipy at 1e-12.
    path = HISTORY[:points]
    clock = replace(batch(1.0), induction_per_s=np.ones(1), induction_j_per_mol=np.full(1, 58000.0))
    k25 = 1.2e-3 * float(arrhenius_factor(58000.0, T25_K, T20_K))
    gains = [
        float(induction_gain(clock, c0 + ZERO_K, c1 + ZERO_K, t1 - t0)[0])
        for (t0, c0), (t1, c1) in _halves(path)
    ]
    assert k25 * sum(gains) == pytest.approx(theta, rel=1e-8)
    ours = grown(batch(1.2e-3, 58000.0, m=0.8, n=1.2), 0.02, path, 10.0)
    assert ours == pytest.approx(alpha, abs=3e-6)


def test_equivalent_age_is_the_same_integral() -> None:
    # E 55 kJ/mol, reference 20 C: 1 h at 15 and 2 h at 25 C; a day of 20 + 5 sin(2 pi h/24).
    clock = replace(
        batch(1.0),
        induction_per_s=np.full(1, float(arrhenius_factor(55000.0, T25_K, T20_K))),
        induction_j_per_mol=np.full(1, 55000.0),
    )
    two = induction_gain(clock, 288.15, 288.15, 1.0) + induction_gain(clock, 298.15, 298.15, 2.0)
    assert float(two[0]) == pytest.approx(3.5959578517, rel=1e-9)
    hours = np.linspace(0.0, 24.0, 1441)
    day_k = T20_K + 5.0 * np.sin(2.0 * np.pi * hours / 24.0)
    age = sum(
        float(induction_gain(clock, first, last, 1.0 / 60.0)[0])
        for first, last in zip(day_k, day_k[1:], strict=False)
    )
    assert age == pytest.approx(24.814417611, rel=1e-6)


@pytest.mark.parametrize(
    ("temp_c", "gel_s"),
    [(10.0, 3993.7078512), (15.0, 2662.6960217), (25.0, 1232.8972817), (30.0, 855.07173097)],
)
def test_the_gel_of_a_plan_follows_the_same_clock(temp_c: float, gel_s: float) -> None:
    # t20 1800 s, E 55 kJ/mol, mpmath; growth made too short to count.
    assert 60.0 * CLOCK.gel_min(temp_c + ZERO_K, 1.5) == pytest.approx(gel_s, rel=1e-6)


def test_a_form_that_warms_up_at_once_gels_when_the_clock_has_run_out() -> None:
    # 1200 s at 15 C, then 25 C: gel at 1877.2661747 s (mpmath).
    clock = replace(
        batch(1.0),
        induction_per_s=np.full(1, 1.0 / 1232.8972817),
        induction_j_per_mol=np.full(1, 55000.0),
    )
    cool = float(induction_gain(clock, 288.15, 288.15, 1200.0)[0])
    warm_per_s = float(induction_gain(clock, 298.15, 298.15, 1.0)[0])
    assert 1200.0 + (1.0 - cool) / warm_per_s == pytest.approx(1877.2661747, rel=1e-9)
    drift_min = CLOCK.gel_min_while_drifting(288.15, 298.15, 1e-6, 1.5)
    assert 60.0 * drift_min == pytest.approx(1232.8972817, rel=1e-6)


def test_where_a_step_growth_resin_gels() -> None:
    # Flory and Stockmayer: a = 1/sqrt(r (f-1)(g-1)); a diepoxide with a diamine, f 2, g 4: 0.577;
    # measured 0.5 to 0.6, and the epoxy preset lies between.
    assert float(1 / mpmath.sqrt(3)) == pytest.approx(0.57735026919, abs=1e-11)
    assert 0.5 <= PRESETS["epoxy"].gel_conversion <= 0.57735026919


CLOCK = GelLaw(
    reference_percent=1.5,
    induction_min_at_25c=1232.8972817 / 60.0,
    induction_j_per_mol=55_000.0,
    induction_exponent=1.0,
    rate_at_25c_per_s=1e6,
    rate_j_per_mol=0.0,
    rate_exponent=0.0,
    seed=0.03,
    order_m=0.8,
    order_n=1.4,
    gel_conversion=0.05,
    limit_at_20c=0.9,
    limit_per_k=0.0,
)


def _halves(
    path: tuple[tuple[float, float], ...],
) -> list[tuple[tuple[float, float], tuple[float, float]]]:
    """Pieces of less than 2 K, as the followers split them."""
    pieces = []
    for (t0, c0), (t1, c1) in zip(path, path[1:], strict=False):
        count = int(abs(c1 - c0) / 2.0) + 1
        marks = [(t0 + (t1 - t0) * i / count, c0 + (c1 - c0) * i / count) for i in range(count + 1)]
        pieces += list(zip(marks, marks[1:], strict=False))
    return pieces
