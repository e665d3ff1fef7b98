"""Holes and cracks against real air, an open library of fluid mechanics and the inverse problem."""

from __future__ import annotations

import math

import fluids
import pytest

from firmware_host.physics.gas import GAS_CONSTANT_J_PER_MOLK
from firmware_host.physics.holes import (
    AIR_KG_PER_MOL,
    CRITICAL_RATIO,
    crack_flow,
    hole_diameter_m,
    hole_flow,
)

ROOM_PA, ROOM_K = 101325.0, 293.15
SPEED = math.sqrt(GAS_CONSTANT_J_PER_MOLK / AIR_KG_PER_MOL * ROOM_K)


def flux_kg_per_m2s(bag_pa: float) -> float:
    return hole_flow(bag_pa / ROOM_PA) * ROOM_PA / SPEED


def test_a_hole_chokes_where_the_library_says() -> None:
    assert pytest.approx(0.528282, abs=1e-6) == CRITICAL_RATIO
    assert pytest.approx(fluids.P_critical_flow(ROOM_PA, 1.4), abs=0.01) == ROOM_PA * CRITICAL_RATIO


@pytest.mark.parametrize(
    ("bag_pa", "ideal", "real"),
    # Ideal nozzle theory (ISO 9300) and CoolProp's isentropic maximum for real air.
    [
        (20000.0, 239.1735, 239.314),
        (60000.0, 237.0119, 237.134),
        (80000.0, 199.4581, 199.524),
        (95000.0, 119.2200, 119.247),
    ],
)
def test_a_hole_passes_the_mass_of_real_air(bag_pa: float, ideal: float, real: float) -> None:
    assert flux_kg_per_m2s(bag_pa) == pytest.approx(ideal, rel=1e-5)
    assert flux_kg_per_m2s(bag_pa) == pytest.approx(real, rel=1e-3)


@pytest.mark.parametrize(
    ("bag_pa", "crack", "hole"),
    # scipy, relative to the flow into empty space.
    [
        (5000.0, 0.997565, 1.0),
        (15000.0, 0.978085, 1.0),
        (50000.0, 0.756496, 1.0),
        (60000.0, 0.649354, 0.990962),
        (80000.0, 0.376629, 0.833947),
        (90000.0, 0.211046, 0.647833),
    ],
)
def test_a_crack_slows_down_long_before_a_hole(bag_pa: float, crack: float, hole: float) -> None:
    ratio = bag_pa / ROOM_PA
    assert crack_flow(ratio) == pytest.approx(crack, abs=1e-6)
    assert hole_flow(ratio) / hole_flow(0.0) == pytest.approx(hole, abs=1e-6)


@pytest.mark.parametrize(
    ("throughput", "discharge", "micrometres"),
    # 0.1 mm passes 0.158070 Pa m3/s with Cd 1; the others are its inverse, by hand.
    [(0.158070, 1.0, 100.0), (0.01, 0.65, 31.197), (1e-4, 1.0, 2.515), (1.0, 0.65, 312.0)],
)
def test_the_hole_of_a_flow(throughput: float, discharge: float, micrometres: float) -> None:
    found = hole_diameter_m(throughput, ROOM_PA, ROOM_K, discharge)
    assert found * 1e6 == pytest.approx(micrometres, rel=1e-3)


@pytest.mark.parametrize("ratio", [-0.001, 1.001])
def test_air_does_not_leak_uphill(ratio: float) -> None:
    for law in (hole_flow, crack_flow):
        with pytest.raises(ValueError, match="a leak needs 0 to 1"):
            law(ratio)
    assert hole_flow(1.0) == crack_flow(1.0) == 0.0


def test_a_hole_needs_a_room() -> None:
    with pytest.raises(ValueError, match="pressure and temperature above 0"):
        hole_diameter_m(0.01, 0.0, ROOM_K)
