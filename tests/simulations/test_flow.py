import pytest

from simulations.flow import (
    AIR_J_PER_KGK,
    CRITICAL_RATIO,
    hole_area_m2,
    hole_throughput_pa_m3_per_s,
    hose_conductance_m3_per_s,
    styrene_pressure_pa,
)

ROOM_PA = 101325.0
ROOM_K = 293.15


def mass_flux_kg_per_m2s(down_pa: float) -> float:
    return hole_throughput_pa_m3_per_s(1.0, ROOM_PA, down_pa, ROOM_K) / (AIR_J_PER_KGK * ROOM_K)


@pytest.mark.parametrize(
    ("down_pa", "real_air"),
    # CoolProp's isentropic real-air maximum, 0.06 % above the ideal gas.
    [(20000.0, 239.314), (60000.0, 237.134), (80000.0, 199.524), (95000.0, 119.247)],
)
def test_a_hole_passes_the_mass_of_real_air(down_pa: float, real_air: float) -> None:
    assert mass_flux_kg_per_m2s(down_pa) == pytest.approx(real_air, rel=1e-3)


def test_flow_through_a_hole_chokes_at_the_textbook_ratio() -> None:
    assert pytest.approx(0.528282, abs=1e-6) == CRITICAL_RATIO
    assert mass_flux_kg_per_m2s(53528.0) == mass_flux_kg_per_m2s(100.0)
    assert mass_flux_kg_per_m2s(60000.0) < mass_flux_kg_per_m2s(53528.0)


def test_nothing_flows_without_a_difference() -> None:
    assert hole_throughput_pa_m3_per_s(1.0, ROOM_PA, ROOM_PA, ROOM_K) == 0.0


def test_the_area_of_a_hole_is_the_inverse_of_its_throughput() -> None:
    # 31.197 um for 0.01 Pa m3/s with a discharge of 0.65: inverse of a 0.1 mm hole's 0.158070.
    area_m2 = hole_area_m2(0.01, ROOM_PA, ROOM_K)
    assert (4.0 * area_m2 / 0.65 / 3.141592654) ** 0.5 == pytest.approx(31.197e-6, rel=1e-3)


def test_a_hose_conducts_as_hagen_and_poiseuille_say() -> None:
    # Hand: pi 0.006^4 10000 / (128 1.82057e-5 3)
    assert hose_conductance_m3_per_s(0.006, 3.0, 1e4) == pytest.approx(5.82394e-3, rel=1e-5)


@pytest.mark.parametrize(
    ("temp_c", "low", "high"), [(20, 599, 617), (30, 1097, 1116), (40, 1904, 1930)]
)
def test_styrene_pressure_lies_within_four_published_fits(
    temp_c: float, low: float, high: float
) -> None:
    assert low <= styrene_pressure_pa(temp_c + 273.15) <= high
