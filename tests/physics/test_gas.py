"""Gas laws and vapour pressures against published conversions, equations of state and handbooks.

Where a library is named, it is asked in the test if it is installed; the figures beside it were
read off it and hold without.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from firmware_host.physics.gas import (
    GasPart,
    acetone_pressure_pa,
    leak_at_room_pa_m3_per_s,
    moles_per_pa,
    room_air_cm3_per_min,
    styrene_pressure_pa,
    water_pressure_pa,
)
from hardware.units import ZERO_CELSIUS_K

ROOM_K = 293.15
THREE_LITRES = (GasPart(volume_m3=0.003, temp_k=ROOM_K),)


def test_throughput_of_the_usual_drop_rule_agrees_with_real_air() -> None:
    # 3 L, 1 inHg (3386.389 Pa, NIST SP 811) in 300 s. The mass of real air that this is
    # (CoolProp densities at 15000 and 18386 Pa, 293.15 K) is worth 0.0338679 Pa m3/s.
    q = leak_at_room_pa_m3_per_s(3386.389 / 300.0, THREE_LITRES, ROOM_K)
    assert q == pytest.approx(0.0338639, rel=5e-4)
    assert q == pytest.approx(0.0338679, rel=5e-4)


def test_moles_tell_a_leak_from_a_warming_bag() -> None:
    # 15 kPa at 293.15 K to 16 kPa at 303.15 K in 300 s in 3 L: 0.00472208 Pa m3/s by p V / T;
    # 0.00472067 by CoolProp's masses; pressure alone would say 0.01.
    warm = (GasPart(volume_m3=0.003, temp_k=303.15),)
    gained = 16000.0 * moles_per_pa(warm) - 15000.0 * moles_per_pa(THREE_LITRES)
    q = gained * 8.31446261815324 * ROOM_K / 300.0
    assert q == pytest.approx(0.00472208, rel=1e-3)
    assert q == pytest.approx(0.00472067, rel=1e-3)


@pytest.mark.parametrize(
    ("start_pa", "share", "by_k", "risen_pa"),
    # Gay-Lussac, by hand: p' / p = 1 / ((1 - f) + f T / T').
    [
        (15000.0, 1.0, 10.0, 511.68),
        (15000.0, 1.0, 40.0, 2046.73),
        (15000.0, 0.3, 40.0, 560.486),
        (50000.0, 0.3, 40.0, 1868.29),
        (15000.0, 1.0, 1.0, 51.168),
        (20000.0, 1.0, 10.0, 682.245),
    ],
)
def test_a_tight_bag_rises_as_its_warm_part_warms(
    start_pa: float, share: float, by_k: float, risen_pa: float
) -> None:
    def bag(warm_k: float) -> tuple[GasPart, ...]:
        cool = GasPart(volume_m3=0.003 * (1.0 - share) or 1e-15, temp_k=ROOM_K)
        return (GasPart(volume_m3=0.003 * share, temp_k=warm_k), cool)

    moles = start_pa * moles_per_pa(bag(ROOM_K))
    assert moles / moles_per_pa(bag(ROOM_K + by_k)) - start_pa == pytest.approx(risen_pa, abs=0.01)


@pytest.mark.parametrize(("volume_m3", "temp_k"), [(0.0, 290.0), (0.003, 0.0), (-1.0, 290.0)])
def test_gas_without_room_or_warmth_is_refused(volume_m3: float, temp_k: float) -> None:
    with pytest.raises(ValueError, match="must have a volume and a temperature above 0"):
        moles_per_pa([GasPart(volume_m3=volume_m3, temp_k=temp_k)])


def test_room_air_needs_a_room_pressure() -> None:
    with pytest.raises(ValueError, match="must be above 0"):
        room_air_cm3_per_min(0.03, 0.0)


@pytest.mark.parametrize(
    ("temp_c", "iapws_pa"),
    # IAPWS-95, by CoolProp and by chemicals.
    [
        (15.0, 1705.793),
        (20.0, 2339.318),
        (25.0, 3169.929),
        (30.0, 4246.971),
        (35.0, 5629.016),
        (40.0, 7384.938),
    ],
)
def test_water_boils_where_the_steam_tables_say(temp_c: float, iapws_pa: float) -> None:
    assert water_pressure_pa(temp_c + ZERO_CELSIUS_K) == pytest.approx(iapws_pa, rel=3.5e-3)


def test_water_follows_the_steam_formulation_from_frost_to_over_boiling() -> None:
    iapws = pytest.importorskip("chemicals.iapws", reason="chemicals is not installed")
    for temp_c in np.linspace(1.0, 119.0, 60):
        temp_k = float(temp_c) + ZERO_CELSIUS_K
        assert water_pressure_pa(temp_k) == pytest.approx(iapws.iapws95_Psat(temp_k), rel=5e-3)


@pytest.mark.parametrize(
    ("inhg", "boils_c"), [(24.0, 60.11), (25.0, 56.17), (26.0, 51.47), (27.0, 45.60), (28.0, 37.64)]
)
def test_water_boils_under_so_many_inhg_at_sea_level(inhg: float, boils_c: float) -> None:
    """CoolProp, for the bag pressure that is left under so much vacuum."""
    left_pa = 101325.0 - inhg * 3386.389
    boils_k = 1687.537 / (10.11564 - math.log10(left_pa)) + 42.98
    assert water_pressure_pa(boils_k) == pytest.approx(left_pa)
    assert boils_k - ZERO_CELSIUS_K == pytest.approx(boils_c, abs=0.1)


@pytest.mark.parametrize(
    ("temp_c", "pressure_pa"),
    # CoolProp; Poling's own equation gives 24712.4 at 20 C.
    [(15.0, 19615.86), (20.0, 24661.61), (25.0, 30727.18), (30.0, 37960.43), (40.0, 56581.56)],
)
def test_acetone_boils_where_its_equation_of_state_says(temp_c: float, pressure_pa: float) -> None:
    assert acetone_pressure_pa(temp_c + ZERO_CELSIUS_K) == pytest.approx(pressure_pa, rel=5e-3)


@pytest.mark.parametrize(("temp_c", "mean_pa"), [(20.0, 606.0), (30.0, 1102.0), (40.0, 1916.0)])
def test_styrene_lies_at_the_mean_of_four_fits(temp_c: float, mean_pa: float) -> None:
    # DIPPR 101 (Perry 8), VDI Wagner, McGarry and Landolt-Boernstein.
    found = float(styrene_pressure_pa(np.array([temp_c + ZERO_CELSIUS_K]))[0])
    assert found == pytest.approx(mean_pa, rel=0.03)


def test_styrene_boils_at_its_normal_boiling_point() -> None:
    # 145.2 C, handbooks.
    found = float(styrene_pressure_pa(np.array([145.2 + ZERO_CELSIUS_K]))[0])
    assert found == pytest.approx(101325.0, rel=0.01)


def test_vapours_agree_with_a_second_published_equation_each() -> None:
    data = pytest.importorskip("chemicals.vapor_pressure", reason="chemicals is not installed")
    rows = data.Psat_data_Perrys2_8
    for cas, law, tolerance in (
        ("7732-18-5", water_pressure_pa, 6e-3),
        ("67-64-1", acetone_pressure_pa, 1e-2),
        ("100-42-5", lambda t: float(styrene_pressure_pa(np.array([t]))[0]), 4e-2),
    ):
        c1, c2, c3, c4, c5 = (float(rows.loc[cas][f"C{n}"]) for n in range(1, 6))
        for temp_k in (288.15, 298.15, 313.15, 333.15):
            other = math.exp(c1 + c2 / temp_k + c3 * math.log(temp_k) + c4 * temp_k**c5)
            assert law(temp_k) == pytest.approx(other, rel=tolerance)
