"""Conversions against NIST SP 811 (2008), appendix B.8."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from hardware.units import (
    PRESSURE_UNITS,
    TEMPERATURE_UNITS,
    from_kelvin,
    from_pascal,
    to_kelvin,
    to_pascal,
)


@pytest.mark.parametrize(
    ("unit", "pascals", "tolerance"),
    [
        ("Pa", 1.0, 0.0),
        ("hPa", 100.0, 0.0),
        ("kPa", 1000.0, 0.0),
        ("mbar", 100.0, 0.0),  # SP 811 B.8 "millibar" 1.0 E+02, exact
        ("inHg", 3386.389, 0.0005),  # SP 811 B.8 "inch of mercury, conventional" 3.386 389 E+03
        ("Torr", 133.3224, 0.00005),  # SP 811 B.8 "torr" 1.333 224 E+02
    ],
)
def test_one_of_each_pressure_unit_is_what_sp_811_says(
    unit: str, pascals: float, tolerance: float
) -> None:
    assert abs(to_pascal(1.0, unit) - pascals) <= tolerance


def test_a_standard_atmosphere_is_760_torr_and_29_92_inches() -> None:
    assert from_pascal(101325.0, "Torr") == 760.0
    assert round(from_pascal(101325.0, "inHg"), 2) == 29.92  # US Standard Atmosphere 1976


@pytest.mark.parametrize(
    ("value", "unit", "kelvin"),
    [
        (0.0, "degC", 273.15),
        (100.0, "degC", 373.15),
        (32.0, "degF", 273.15),  # SP 811 B.8: T/K = (t/degF + 459.67)/1.8
        (212.0, "degF", 373.15),
        (-40.0, "degF", 233.15),
        (300.0, "K", 300.0),
    ],
)
def test_fixed_points_of_each_temperature_unit(value: float, unit: str, kelvin: float) -> None:
    assert to_kelvin(value, unit) == pytest.approx(kelvin, abs=1e-12)


@settings(deadline=None)
@given(st.floats(-1e7, 1e7), st.sampled_from(PRESSURE_UNITS))
def test_a_pressure_survives_the_way_there_and_back(value: float, unit: str) -> None:
    assert from_pascal(to_pascal(value, unit), unit) == pytest.approx(value, rel=1e-14, abs=1e-300)


@settings(deadline=None)
@given(st.floats(-300.0, 3000.0), st.sampled_from(TEMPERATURE_UNITS))
def test_a_temperature_survives_the_way_there_and_back(value: float, unit: str) -> None:
    assert from_kelvin(to_kelvin(value, unit), unit) == pytest.approx(value, abs=1e-11)


def test_an_unknown_unit_is_refused_with_the_known_ones() -> None:
    with pytest.raises(ValueError, match=r"'psi' is no pressure unit; use one of Pa, hPa, kPa"):
        to_pascal(1.0, "psi")
    with pytest.raises(ValueError, match=r"'C' is no temperature unit; use one of K, degC, degF"):
        to_kelvin(1.0, "C")
    with pytest.raises(ValueError, match="'degC' is no pressure unit"):
        from_pascal(1.0, "degC")
    with pytest.raises(ValueError, match="'Pa' is no temperature unit"):
        from_kelvin(1.0, "Pa")


@pytest.mark.parametrize("value", [math.nan, math.inf, -math.inf])
def test_what_is_no_number_is_refused(value: float) -> None:
    with pytest.raises(ValueError, match="is not a number; a missing value stays blank"):
        to_pascal(value, "mbar")
    with pytest.raises(ValueError, match="is not a number"):
        to_kelvin(value, "degC")
