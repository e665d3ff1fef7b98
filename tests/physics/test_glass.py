"""Glass transition and the amine-epoxy law, against published constants and a closed form."""

from __future__ import annotations

import math

import numpy as np
import pytest

from firmware_host.batch.post_cure import GLASS, hours_to
from firmware_host.config.presets import PRESETS
from firmware_host.config.schema import Family
from firmware_host.physics.glass import Glass
from firmware_host.physics.kinetics import T25_K, Kinetics, Progress, advance

PUBLISHED = Glass(uncured_k=262.15, cured_k=479.15, bend=0.435)
"""An aerospace infusion epoxy: -11 and 206 degC, lam 0.435, Karkanas & Partridge, J. Appl. Polym.
Sci. 77 (2000) 1419 (from memory); values below by mpmath."""


@pytest.mark.parametrize(("conversion", "glass_c"), [(0.5, 54.780487805), (0.8, 126.80291970)])
def test_the_glass_transition_follows_dibenedetto(conversion: float, glass_c: float) -> None:
    assert PUBLISHED.transition_k(conversion) - 273.15 == pytest.approx(glass_c, abs=1e-7)


def test_the_inverse_gives_the_conversion_back() -> None:
    assert PUBLISHED.conversion_at(298.15) == pytest.approx(0.31376650543, abs=1e-10)
    for conversion in np.linspace(0.0, 1.0, 11):
        there = PUBLISHED.transition_k(float(conversion))
        assert PUBLISHED.conversion_at(there) == pytest.approx(float(conversion), abs=1e-12)


def test_a_glass_that_cannot_be_is_refused() -> None:
    with pytest.raises(ValueError, match="cannot be"):
        Glass(uncured_k=300.0, cured_k=290.0, bend=0.4)


@pytest.mark.parametrize("conversion", [0.2, 0.55, 0.8])
def test_a_stoichiometric_epoxy_amine_follows_its_closed_form(conversion: float) -> None:
    """(k1 + k2 a)(1 - a)(B - a) with B = 1: Horie et al., J. Polym. Sci. A-1 8 (1970) 1357.

    k2 t = [a/(1-a)] / (1+s) + ln[(s+a) / (s (1-a))] / (1+s)^2, s = k1/k2, by partial fractions.
    """
    preset = PRESETS["epoxy"]
    assert (preset.order_m, preset.order_n) == (1.0, 2.0)
    s, one = preset.seed_fraction, np.ones(1)
    kinetics = Kinetics(
        induction_per_s=one * np.inf,
        induction_j_per_mol=one,
        rate_per_s=one * preset.rate_at_25c_per_s,
        rate_j_per_mol=one * 50_000.0,
        seed=one * s,
        order_m=one,
        order_n=one * 2.0,
        limit_at_20c=one,
        limit_per_k=one,
        throttled=False,
    )
    a = conversion
    kt = (a / (1 - a)) / (1 + s) + math.log((s + a) / (s * (1 - a))) / (1 + s) ** 2
    span_s = kt / preset.rate_at_25c_per_s
    there = advance(kinetics, Progress(one, np.zeros(1)), T25_K, T25_K, span_s)
    assert float(there.conversion[0]) == pytest.approx(a, abs=1e-5)


def test_the_epoxy_preset_has_a_published_activation_and_gels_where_step_growth_does() -> None:
    # Amines with a diglycidyl ether: 50 to 60 kJ/mol (Horie et al.); a gel chart's fit 46 +- 3.
    assert 43.0 <= PRESETS["epoxy"].rate_activation_kj_per_mol <= 60.0


@pytest.mark.parametrize("temp_c", [10.0, 20.0, 30.0])
def test_the_preset_stops_where_its_glass_is_a_dozen_kelvin_above_the_room(temp_c: float) -> None:
    preset = PRESETS["epoxy"]
    limit = preset.conversion_limit_at_20c + preset.conversion_limit_per_k * (temp_c - 20.0)
    ahead_k = GLASS[Family.EPOXY].transition_k(limit) - temp_c - 273.15
    assert ahead_k == pytest.approx(12.0, abs=3.0)


def test_a_cold_room_never_brings_what_an_oven_does_in_hours() -> None:
    preset = PRESETS["epoxy"]
    assert hours_to(preset, 0.70, 0.90, 20.0) is None
    cool, warm = (hours_to(preset, 0.70, 0.90, temp_c) for temp_c in (60.0, 70.0))
    assert cool is not None
    assert warm is not None
    assert 0.5 < warm < cool < 24.0
