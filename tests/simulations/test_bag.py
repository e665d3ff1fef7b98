import math
from dataclasses import replace

import pytest

from simulations.bag import Bag, BagSettings, Surroundings
from simulations.outgassing import OutgassingSettings, pocket_shares
from simulations.pump import PumpSettings
from simulations.relax import relax_pair

ROOM = Surroundings(room_pa=101325.0, shop_k=293.15, laminate_k=293.15, conversion=0.0, wet=False)
STIFF = BagSettings(
    free_volume_l=3.0,
    lifted_share=0.0,
    spring_share=0.0,
    leak_pa_per_s=0.0,
    warm_share=0.0,
    hose_bore_mm=50.0,
    hose_length_m=0.1,
)
DRY = OutgassingSettings(pocket_ml=0.0, vapour_ml_per_s=0.0)
PERFECT = PumpSettings(speed_m3_per_h=1.0, ultimate_pa=0.0, side_volume_l=0.001)


def closed_bag(
    settings: BagSettings = STIFF,
    *,
    pump: PumpSettings = PERFECT,
    outgassing: OutgassingSettings = DRY,
    around: Surroundings = ROOM,
) -> Bag:
    bag = Bag(settings, pump, outgassing, around)
    bag.vented = False
    return bag


def pumped_down(bag: Bag, around: Surroundings = ROOM, seconds: float = 400.0) -> Bag:
    bag.pump.switch(on=True)
    bag.disturb()
    bag.advance(seconds, around)
    return bag


def isolated(bag: Bag) -> Bag:
    bag.valve_opening = 0.0
    bag.disturb()
    return bag


def test_three_litres_and_one_cubic_metre_an_hour_empty_with_10_8_s() -> None:
    # tau = V / S = 3 L / 1 m3/h; the hose is next to none, so S_eff is a hair below S.
    bag = pumped_down(closed_bag(), seconds=10.8)
    assert bag.bag_pa == pytest.approx(101325.0 / math.e, rel=0.015)


def test_a_hose_slows_the_pump_as_conductances_in_series() -> None:
    # 1/S_eff = 1/S + 1/C with the conductance at its upper bound near atmosphere.
    settings = replace(STIFF, hose_bore_mm=40.0)
    pump = PumpSettings(speed_m3_per_h=36.0, ultimate_pa=0.0, side_volume_l=0.001)
    bag = pumped_down(closed_bag(settings, pump=pump), seconds=0.45)
    effective = 1.0 / (1.0 / 0.01 + 1.0 / 0.02)
    assert bag.bag_pa == pytest.approx(101325.0 * math.exp(-0.45 * effective / 3e-3), rel=0.02)


def test_a_running_pump_holds_its_ultimate_plus_leak_over_speed() -> None:
    # 0.0338639 Pa m3/s (1 inHg in 5 min in 3 L) into 3 m3/h lifts 500 Pa to 540.637 Pa.
    settings = replace(STIFF, leak_pa_per_s=11.28796)
    pump = PumpSettings(speed_m3_per_h=3.0, ultimate_pa=500.0, side_volume_l=0.1)
    bag = pumped_down(closed_bag(settings, pump=pump))
    assert bag.pump_pa == pytest.approx(540.637, rel=1e-4)


def test_a_leak_is_a_straight_rise_while_it_is_choked() -> None:
    # A 0.1 mm hole fills 3 L from 15 to 50 kPa in 664.261 s: 52.690 Pa/s, no bend.
    rise = 35000.0 / 664.261
    settings = replace(STIFF, leak_pa_per_s=rise)
    bag = isolated(pumped_down(closed_bag(settings)))
    begins_pa = bag.bag_pa
    readings = []
    for _ in range(6):
        bag.advance(100.0, ROOM)
        readings.append(bag.bag_pa)
    expected = [begins_pa + rise * 100.0 * (i + 1) for i in range(6)]
    assert readings == pytest.approx(expected, rel=1e-6)


def test_a_leak_slows_above_the_critical_pressure_as_a_hole_does() -> None:
    # Isentropic hole relative to choked: 0.833947 at 80 kPa.
    settings = replace(STIFF, leak_pa_per_s=100.0)
    bag = isolated(pumped_down(closed_bag(settings)))
    while bag.bag_pa < 80000.0:
        bag.advance(0.5, ROOM)
    before = bag.bag_pa
    bag.advance(1.0, ROOM)
    assert bag.bag_pa - before == pytest.approx(83.3947, rel=2e-3)


def test_the_ledger_of_leaked_air_is_the_rise_of_a_bag_with_nothing_else() -> None:
    settings = replace(STIFF, leak_pa_per_s=3.0)
    bag = isolated(pumped_down(closed_bag(settings)))
    pressure_pa, ledger_pa = bag.bag_pa, bag.leak_rise_pa
    bag.advance(300.0, ROOM)
    assert bag.leak_rise_pa - ledger_pa == pytest.approx(900.0, rel=1e-3)
    assert bag.bag_pa - pressure_pa == pytest.approx(900.0, rel=1e-3)


def test_warming_a_third_of_the_gas_raises_the_pressure_as_p_over_t() -> None:
    # p'/p = 1 / ((1 - f) + f T/T'): 15 kPa, f 0.3, 40 K from 293.15 K gives +560.486 Pa.
    settings = replace(STIFF, warm_share=0.3)
    bag = closed_bag(settings)
    bag.pump.switch(on=True)
    while bag.bag_pa > 15000.0:
        bag.advance(0.01, ROOM)
    isolated(bag)
    cold_pa = bag.bag_pa
    bag.advance(0.01, replace(ROOM, laminate_k=333.15))
    assert bag.bag_pa - cold_pa == pytest.approx(560.486 * cold_pa / 15000.0, rel=1e-4)
    bag.advance(0.01, ROOM)
    assert bag.bag_pa == pytest.approx(cold_pa, rel=1e-9)


def test_the_film_stands_off_only_near_room_pressure() -> None:
    bag = closed_bag(BagSettings())
    assert bag.volume_m3(ROOM, 5000.0) == pytest.approx(3.0e-3, rel=0.01)
    assert bag.volume_m3(ROOM, 101325.0) > 3.0 * 3.0e-3


def test_no_gas_appears_while_the_film_comes_down() -> None:
    soft = replace(BagSettings(), leak_pa_per_s=0.0, warm_share=0.0)
    pump = PumpSettings(speed_m3_per_h=6.0, ultimate_pa=0.0, side_volume_l=0.8)
    bag = closed_bag(soft, pump=pump)
    amounts = bag.bag_pa * bag.volume_m3(ROOM) + bag.pump_pa * 0.8e-3
    bag.valve_opening = 0.0
    bag.pump.switch(on=True)
    bag.advance(60.0, ROOM)
    assert bag.pump_pa == pytest.approx(1.0)
    bag.pump.switch(on=False)
    bag.valve_opening = 1.0
    bag.disturb()
    bag.advance(600.0, ROOM)
    shared = bag.bag_pa * bag.volume_m3(ROOM) + bag.pump_pa * 0.8e-3
    assert shared == pytest.approx(amounts - 101325.0 * 0.8e-3, rel=2e-3)


def test_trapped_air_leaves_as_a_stretched_exponential() -> None:
    # The pockets are a quadrature of exp(-sqrt(t / tau)); compare with the function itself.
    for share_of_tau in (0.1, 0.5, 1.0, 4.0, 9.0):
        left = sum(
            share * math.exp(-share_of_tau * 100.0 / tau) for share, tau in pocket_shares(100.0)
        )
        assert left == pytest.approx(math.exp(-math.sqrt(share_of_tau)), abs=0.05)


def test_outgassing_bends_the_rise_and_is_no_leak() -> None:
    wet_cloth = OutgassingSettings(pocket_ml=60.0, pocket_tau_s=300.0, vapour_ml_per_s=0.0)
    bag = isolated(pumped_down(closed_bag(outgassing=wet_cloth)))
    rises = []
    for _ in range(3):
        before = bag.bag_pa
        bag.advance(100.0, ROOM)
        rises.append(bag.bag_pa - before)
    assert rises[0] > 1.1 * rises[1] > 1.2 * rises[2] > 0.0
    assert bag.leak_rise_pa == 0.0


def test_vapour_stops_at_its_own_pressure() -> None:
    # Styrene at 20 degC: 599 to 617 Pa in four published fits.
    wet = replace(ROOM, wet=True)
    vapour = OutgassingSettings(pocket_ml=0.0, vapour_ml_per_s=20.0)
    bag = isolated(pumped_down(closed_bag(outgassing=vapour), wet))
    before = bag.bag_pa
    bag.advance(900.0, wet)
    assert 0.8 * 599.0 < bag.bag_pa - before <= 617.0


def test_a_pump_on_a_band_keeps_its_inlet_inside_it() -> None:
    settings = replace(STIFF, leak_pa_per_s=20.0)
    bag = pumped_down(closed_bag(settings))
    bag.pump.cycle(4000.0, 8000.0)
    seen = []
    for _ in range(1200):
        bag.advance(1.0, ROOM)
        seen.append(bag.pump_pa)
    assert min(seen[300:]) == pytest.approx(4000.0, rel=0.1)
    assert max(seen[300:]) == pytest.approx(8000.0, rel=0.02)


def test_a_shut_valve_parts_bag_and_pump() -> None:
    bag = isolated(closed_bag())
    pumped_down(bag)
    assert bag.bag_pa == pytest.approx(101325.0)
    assert bag.pump_pa < 100.0


def test_two_coupled_quantities_relax_as_the_matrix_exponential_says() -> None:
    # M = ((-3, 1), (1, -3)), rates (1, 0): modes -2 and -4, each half: hand-worked.
    slow, fast = (1.0 - math.exp(-2.0)) / 2.0, (1.0 - math.exp(-4.0)) / 4.0
    assert relax_pair(-3.0, 1.0, 1.0, -3.0, (1.0, 0.0), 1.0) == pytest.approx(
        (0.5 * (slow + fast), 0.5 * (slow - fast))
    )
    assert relax_pair(0.0, 0.0, 0.0, 0.0, (2.0, 3.0), 5.0) == pytest.approx((10.0, 15.0))


def test_gas_shared_with_a_tank_mixes_as_boyle_says() -> None:
    # 1 L at 101325 Pa let into a bag at 15 kPa leaves 30 kPa where the bag has 4.755 L, by hand.
    bag = closed_bag(replace(STIFF, free_volume_l=4.755))
    pumped_down(bag)
    bag.share_gas((15_000.0 - bag.bag_pa) * 4.755 / (101_325.0 - 15_000.0), ROOM)
    assert bag.bag_pa == pytest.approx(15_000.0)
    bag.share_gas(1.0, ROOM)
    assert bag.bag_pa == pytest.approx(30_000.0)
