from __future__ import annotations

from math import exp, pow

import pytest
from scipy.integrate import quad

from firmware_host.config.presets import PRESETS
from firmware_host.config.schema import Family, Resin

GAS_CONSTANT_J_PER_MOLK = 8.314462618
T25_K = 298.15


def growth_min(resin: Resin, temp_k: float) -> float:
    """Minutes from the end of induction to gel at the reference dose, by outside quadrature."""
    slow = resin.rate_activation_kj_per_mol * 1e3 / GAS_CONSTANT_J_PER_MOLK
    rate_per_s = resin.rate_at_25c_per_s * exp(-slow * (1.0 / temp_k - 1.0 / T25_K))

    def seconds_per_conversion(x: float) -> float:
        return 1.0 / (
            rate_per_s * (resin.seed_fraction + pow(x, resin.order_m)) * pow(1.0 - x, resin.order_n)
        )

    growth_s: float = quad(seconds_per_conversion, 0.0, resin.gel_conversion)[0]
    return growth_s / 60.0


def glass_limit(low_c: float, high_c: float, ratio: float, glass_c: float) -> float:
    """DiBenedetto's relation turned round: conversion at which the glass temperature is reached."""
    x = (glass_c - low_c) / (high_c - low_c)
    return x / (ratio + x * (1.0 - ratio))


def test_every_family_has_a_preset_of_its_own_name() -> None:
    assert {name: resin.family for name, resin in PRESETS.items()} == {
        "polyester": Family.POLYESTER,
        "vinylester": Family.VINYLESTER,
        "epoxy": Family.EPOXY,
    }


def test_the_vinyl_ester_gels_when_the_selection_guide_says() -> None:
    """Guide: 30 to 40 min at 70 F, 20 to 25 min at 80 F; 25 C lies between, nearer the latter."""
    resin = PRESETS["vinylester"]
    at_80f_k, at_70f_k = 273.15 + 26.667, 273.15 + 21.111
    slow = resin.induction_activation_kj_per_mol * 1e3 / GAS_CONSTANT_J_PER_MOLK
    for temp_k, low_min, high_min in ((at_70f_k, 30.0, 40.0), (at_80f_k, 20.0, 25.0)):
        induction_min = resin.induction_min_at_25c * exp(slow * (1.0 / temp_k - 1.0 / T25_K))
        assert low_min < induction_min + growth_min(resin, temp_k) < high_min


def test_the_growth_times_that_the_presets_comments_state_hold() -> None:
    assert growth_min(PRESETS["polyester"], T25_K) == pytest.approx(12.0, abs=0.1)
    assert growth_min(PRESETS["vinylester"], T25_K) == pytest.approx(15.0, abs=0.1)
    assert growth_min(PRESETS["epoxy"], T25_K) == pytest.approx(180.0, abs=5.0)


def test_epoxy_gels_a_little_below_the_flory_stockmayer_point_of_a_diepoxide_and_a_diamine() -> (
    None
):
    """1/sqrt((f - 1)(g - 1)) with 4 and 2 reactive ends is 0.577; measured 0.5 to 0.6."""
    assert 0.5 <= PRESETS["epoxy"].gel_conversion <= 0.577


@pytest.mark.parametrize(
    ("name", "low_c", "high_c", "ratio"),
    [("vinylester", -55.0, 120.0, 0.35), ("epoxy", -35.0, 85.0, 0.4)],
)
def test_the_conversion_limits_follow_the_glass_temperature_12_k_above_the_laminate(
    name: str, low_c: float, high_c: float, ratio: float
) -> None:
    resin = PRESETS[name]
    at_20c = glass_limit(low_c, high_c, ratio, 32.0)
    at_30c = glass_limit(low_c, high_c, ratio, 42.0)
    assert resin.conversion_limit_at_20c == pytest.approx(at_20c, abs=0.005)
    assert resin.conversion_limit_per_k == pytest.approx((at_30c - at_20c) / 10.0, abs=1e-4)


def test_an_unknown_can_is_doubted_more_than_a_stated_one() -> None:
    assert [resin.ln_rate_sd for resin in PRESETS.values()] == [0.40, 0.45, 0.35]


@pytest.mark.parametrize(
    ("temp_c", "percent"),
    [(11.0, 2.5), (11.0, 2.2), (15.0, 2.0), (15.0, 1.5), (20.0, 1.5), (20.0, 1.0), (25.0, 1.5),
     (25.0, 1.0), (28.0, 1.0), (31.0, 1.0)],
)  # fmt: skip
def test_the_polyester_gels_as_the_joint_fit_of_published_tables_says(
    temp_c: float, percent: float
) -> None:
    """30 min at 20 C and 1.5 %, 58 kJ/mol, dose exponent 1.0; growth included, within 3 %."""
    resin = PRESETS["polyester"]
    temp_k, dose = temp_c + 273.15, percent / resin.initiator_reference_percent
    slow = resin.induction_activation_kj_per_mol * 1e3 / GAS_CONSTANT_J_PER_MOLK
    waited = resin.induction_min_at_25c * exp(slow * (1.0 / temp_k - 1.0 / T25_K))
    waited *= pow(dose, -resin.induction_initiator_exponent)
    grown = growth_min(resin, temp_k) * pow(dose, -resin.rate_initiator_exponent)
    fit = 58e3 / GAS_CONSTANT_J_PER_MOLK * (1.0 / temp_k - 1.0 / 293.15)
    assert waited + grown == pytest.approx(30.0 / dose * exp(fit), rel=0.03)
