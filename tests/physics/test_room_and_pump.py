"""The standard atmosphere, pumping down and units of leaks against tables and open libraries."""

from __future__ import annotations

import math

import ambiance
import pint
import pytest

from firmware_host.physics.atmosphere import standard_pressure_pa
from firmware_host.physics.leak_units import Standard, mbar_l_per_s, standard_cm3_per_min
from firmware_host.physics.pump_down import pull_down_s, ultimate_pressure_pa
from hardware.units import from_pascal, to_pascal

UNITS: pint.UnitRegistry[float] = pint.UnitRegistry()


@pytest.mark.parametrize(
    ("altitude_m", "table_pa"),
    # US Standard Atmosphere 1976, by geopotential altitude.
    [
        (0.0, 101325.0),
        (500.0, 95460.8),
        (1000.0, 89874.6),
        (2000.0, 79495.2),
        (3000.0, 70108.5),
        (5000.0, 54019.9),
    ],
)
def test_the_atmosphere_follows_its_table(altitude_m: float, table_pa: float) -> None:
    assert standard_pressure_pa(altitude_m) == pytest.approx(table_pa, abs=0.1)
    # The library counts geometric metres on an earth of 6356766 m.
    geometric_m = 6356766.0 * altitude_m / (6356766.0 - altitude_m)
    library_pa = float(ambiance.Atmosphere(geometric_m).pressure[0])
    assert standard_pressure_pa(altitude_m) == pytest.approx(library_pa, rel=2e-5)


def test_a_mile_up_25_inhg_cannot_be_had() -> None:
    deepest = from_pascal(standard_pressure_pa(1609.344), "inHg")
    assert deepest == pytest.approx(24.6362, abs=1e-3)


@pytest.mark.parametrize("altitude_m", [-611.0, 11001.0, math.nan])
def test_an_altitude_beyond_the_law_is_refused(altitude_m: float) -> None:
    with pytest.raises(ValueError, match="must lie between"):
        standard_pressure_pa(altitude_m)


def test_units_of_pressure_are_those_of_an_open_library() -> None:
    for unit, name in (("inHg", "inHg"), ("Torr", "torr"), ("mbar", "mbar")):
        assert to_pascal(1.0, unit) == pytest.approx(UNITS.Quantity(1.0, name).to("Pa").m, rel=2e-7)
    assert to_pascal(1.0, "inHg") == pytest.approx(3386.389, abs=0.002)  # NIST SP 811
    assert to_pascal(1.0, "Torr") == pytest.approx(133.322368, abs=1e-6)
    # 22 inHg are 10.8054 psi: US Army TM 1-1500-204-23-11 gives 0.49116 psi an inHg.
    assert to_pascal(22.0, "inHg") / 6894.757293 == pytest.approx(10.8054, abs=1e-3)


@pytest.mark.parametrize(
    ("volume_l", "speed_m3_per_h", "ultimate_pa", "takes_s"),
    # By hand: t = V / S ln((p0 - pu) / (p - pu)), from 101325 to 15000 Pa.
    [
        (3.0, 1.0, 0.0, 20.6311),
        (3.0, 1.0, 5000.0, 24.4635),
        (3.0, 3.0, 0.0, 6.87702),
        (3.0, 3.0, 5000.0, 8.15451),
        (20.0, 1.0, 5000.0, 163.090),
    ],
)
def test_pumping_down_takes_its_time(
    volume_l: float, speed_m3_per_h: float, ultimate_pa: float, takes_s: float
) -> None:
    tau_s = volume_l * 1e-3 / speed_m3_per_h * 3600.0
    found = pull_down_s(101325.0, 15000.0, ultimate_pa, tau_s)
    assert found == pytest.approx(takes_s, rel=1e-5)


def test_a_pump_gets_no_deeper_than_its_end_and_is_there_at_once_where_it_is() -> None:
    assert pull_down_s(101325.0, 5000.0, 5000.0, 10.0) is None
    assert pull_down_s(5000.0, 5000.0, 0.0, 10.0) == 0.0


@pytest.mark.parametrize(
    ("speed_m3_per_h", "pump_pa", "ends_pa"), [(3.0, 500.0, 540.637), (0.5, 2000.0, 2243.82)]
)
def test_a_leak_at_the_limit_hardly_lifts_a_pumped_bag(
    speed_m3_per_h: float, pump_pa: float, ends_pa: float
) -> None:
    # p_u = p_pump + Q / S with Q = 0.0338639 Pa m3/s (3 L, 1 inHg in 5 min), by hand.
    tau_s = 0.003 / speed_m3_per_h * 3600.0
    found = ultimate_pressure_pa(pump_pa, 3386.389 / 300.0, tau_s)
    assert found == pytest.approx(ends_pa, abs=0.01)


@pytest.mark.parametrize(
    ("temp_k", "pressure_pa", "at_20c"),
    # What one standard cm3 a minute is at 20 C, Pa m3/s; NIST's flow units as quoted for 0 C.
    [
        (273.15, 101325.0, 1.812400e-3),
        (273.15, 100000.0, 1.788700e-3),
        (293.15, 101325.0, 1.688750e-3),
        (298.15, 101325.0, 1.660430e-3),
    ],
)
def test_a_standard_cm3_depends_on_its_standard(
    temp_k: float, pressure_pa: float, at_20c: float
) -> None:
    standard = Standard(temp_k=temp_k, pressure_pa=pressure_pa, words="")
    assert standard_cm3_per_min(at_20c, 293.15, standard) == pytest.approx(1.0, rel=1e-5)
    assert standard_cm3_per_min(1.688750e-3, 273.15) == pytest.approx(1.0, abs=1e-6)


def test_mbar_litres_are_those_of_an_open_library() -> None:
    library = UNITS.Quantity(0.0338639, "Pa*m**3/s").to("mbar*l/s").m
    assert mbar_l_per_s(0.0338639) == pytest.approx(library)


def test_a_flow_of_gas_without_warmth_is_refused() -> None:
    with pytest.raises(ValueError, match="must be warmer than 0"):
        standard_cm3_per_min(1.0, 0.0)
