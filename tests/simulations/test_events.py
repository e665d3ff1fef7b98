from collections.abc import Callable

import pytest

from simulations.events import (
    EVENTS,
    BagClosed,
    ChannelFault,
    GasShared,
    HeatOff,
    HeatOn,
    HosePinched,
    LeakCloses,
    LeakOpens,
    Mix,
    PlantEvent,
    PumpCycles,
    PumpOff,
    PumpOn,
    PumpRunsFree,
    PumpWorn,
    Reboot,
    Release,
    Replug,
    Unplug,
    ValveOpen,
    ValveShut,
    ValveThrottled,
)
from simulations.plant import Plant, PlantSettings
from simulations.pump import Pump, PumpSettings

SEEN: list[tuple[list[PlantEvent], Callable[[Plant], object], object]] = [
    ([Mix()], lambda plant: (plant.laminate.mixed, plant.cup.mixed), (True, True)),
    ([BagClosed()], lambda plant: plant.bag.vented, False),
    ([BagClosed(), Release()], lambda plant: plant.bag.vented, True),
    ([PumpOn()], lambda plant: plant.bag.pump.running, True),
    ([PumpOn(), PumpOff()], lambda plant: plant.bag.pump.running, False),
    ([ValveShut()], lambda plant: plant.bag.valve_opening, 0.0),
    ([ValveShut(), ValveOpen()], lambda plant: plant.bag.valve_opening, 1.0),
    ([ValveThrottled(opening=0.2)], lambda plant: plant.bag.valve_opening, 0.2),
    ([HosePinched(share=0.1)], lambda plant: plant.bag.hose_share, 0.1),
    ([HeatOn(w_per_m2=90.0)], lambda plant: plant.laminate.lamp_w_per_m2, 90.0),
    ([HeatOn(), HeatOff()], lambda plant: plant.laminate.lamp_w_per_m2, 0.0),
]


@pytest.mark.parametrize(("events", "look", "expected"), SEEN)
def test_an_event_does_what_it_says(
    events: list[PlantEvent], look: Callable[[Plant], object], expected: object
) -> None:
    plant = Plant(PlantSettings(), 1)
    for event in events:
        event.happen(plant)
    assert look(plant) == expected


def test_every_event_has_a_name_to_be_called_by() -> None:
    assert set(EVENTS.values()) == {
        BagClosed, ChannelFault, GasShared, HeatOff, HeatOn, HosePinched, LeakCloses, LeakOpens,
        Mix, PumpCycles, PumpOff, PumpOn, PumpRunsFree, PumpWorn, Reboot, Release, Replug, Unplug,
        ValveOpen, ValveShut, ValveThrottled,
    }  # fmt: skip


START: tuple[PlantEvent, ...] = (BagClosed(), PumpOn())


def held(*events: PlantEvent) -> Plant:
    """Give a bag that is closed, pumped down and then meets these events."""
    plant = Plant(PlantSettings(), 1)
    for event in START:
        event.happen(plant)
    plant.bag.disturb()
    plant.advance(600.0)
    for event in events:
        event.happen(plant)
    plant.bag.disturb()
    return plant


def test_a_leak_opens_and_closes_again() -> None:
    rises = []
    for events in ([LeakOpens(pa_per_s=13.2)], [LeakOpens(pa_per_s=13.2), LeakCloses()]):
        plant = held(*events, ValveShut())
        before = plant.bag.leak_rise_pa
        plant.advance(100.0)
        rises.append((plant.bag.leak_rise_pa - before) / 100.0)
    assert rises == pytest.approx([13.2, 0.25], rel=0.01)


def test_a_worn_pump_lets_the_level_up_and_leaves_the_leak_alone() -> None:
    plant = held(PumpWorn(speed_share=0.25, ultimate_mbar=30.0))
    before = plant.bag.leak_rise_pa
    plant.advance(7200.0)
    assert plant.bag.pump_pa == pytest.approx(3000.0, rel=0.02)
    assert plant.bag.leak_rise_pa - before == pytest.approx(7200.0 * 0.25, rel=0.3)


def test_a_pinched_hose_parts_the_two_gauges() -> None:
    plant = held(LeakOpens(pa_per_s=10.0), HosePinched(share=0.01))
    plant.advance(600.0)
    assert plant.bag.bag_pa > plant.bag.pump_pa + 1000.0


def test_a_pump_that_runs_free_again_leaves_its_band() -> None:
    plant = held(PumpCycles(low_mbar=40.0, high_mbar=80.0))
    plant.advance(1.0)
    assert not plant.bag.pump.running
    PumpRunsFree().happen(plant)
    plant.advance(60.0)
    assert plant.bag.pump_pa < 2000.0


def test_a_bad_check_valve_leaks_only_while_the_pump_stands_and_the_valve_is_open() -> None:
    def rise_pa(*events: PlantEvent) -> float:
        settings = PlantSettings(pump=PumpSettings(back_leak_pa_m3_per_s=0.05))
        plant = Plant(settings, 1)
        for event in START:
            event.happen(plant)
        plant.advance(600.0)
        for event in events:
            event.happen(plant)
        plant.bag.disturb()
        before = plant.bag.bag_pa
        plant.advance(100.0)
        return plant.bag.bag_pa - before

    # 0.05 Pa m3/s into 3 L of bag and 0.8 L of pump side: 13 Pa/s.
    assert rise_pa(PumpOff()) == pytest.approx(1300.0, rel=0.1)
    assert rise_pa(PumpOff(), ValveShut()) < 150.0
    assert rise_pa() < 50.0


def test_a_pump_that_is_off_stays_off_on_its_band() -> None:
    pump = Pump(PumpSettings())
    pump.cycle(4000.0, 8000.0)
    assert pump.speed_m3_per_s(9000.0) == 0.0
    pump.switch(on=True)
    assert pump.speed_m3_per_s(9000.0) == pytest.approx(1.5 / 3600.0)
    assert pump.speed_m3_per_s(3900.0) == 0.0
    assert pump.speed_m3_per_s(6000.0) == 0.0
    assert pump.speed_m3_per_s(8000.0) > 0.0
