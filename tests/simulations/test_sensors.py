import math
import statistics
from collections.abc import Mapping

import pytest

from simulations.faults import Fault, FaultKind
from simulations.sensors import (
    CHIP_ABOVE_SHOP_K,
    PLACES,
    RAILS_PA,
    Lead,
    Reading,
    Sensors,
    SensorSettings,
)

PERFECT = SensorSettings(
    gauge_zero_pa=0.0,
    gauge_noise_pa=0.0,
    gauge_wander_pa=0.0,
    gauge_step_pa=0.0,
    gauge_lag_s=0.0,
    couple_zero_k=0.0,
    couple_noise_k=0.0,
    couple_wander_k=0.0,
    couple_step_k=0.0,
    couple_lag_s=0.0,
    missed_share=0.0,
)
TRUTH = {
    "bag": 2000.0,
    "pump": 1500.0,
    "barometer": 101300.0,
    "laminate": 315.0,
    "mould": 310.0,
    "shop": 295.0,
    "cup": 400.0,
}
PART1_K = 295.0 + 0.95 * 20.0


def fault(channel: str, kind: FaultKind, **more: float | str) -> Fault:
    return Fault(channel=channel, kind=kind, start_s=100.0, end_s=200.0, **more)  # type: ignore[arg-type]  # short calls in tests


def read(
    faults: list[Fault], times_s: list[float], truth: Mapping[str, float] = TRUTH
) -> list[dict[str, Reading]]:
    sensors = Sensors(PERFECT, faults, seed=1)
    return [sensors.read(time_s, truth) for time_s in times_s]


def test_a_perfect_sensor_says_what_is_true() -> None:
    said = {name: reading.value for name, reading in read([], [0.0])[0].items()}
    assert said == {
        "bag": 2000.0,
        "pump": 1500.0,
        "part1": pytest.approx(PART1_K),
        "part2": pytest.approx(295.0 + 0.88 * 20.0),
        "mould": 310.0,
        "shop": 295.0,
        "cup": 400.0,
    }


@pytest.mark.parametrize("kind", FaultKind)
def test_a_fault_is_there_from_its_start_until_its_end_and_on_its_channel_only(
    kind: FaultKind,
) -> None:
    other = "cup" if kind is FaultKind.SWAPPED else None
    name = "part1" if kind in (FaultKind.SWAPPED, FaultKind.BRIDGED) else "bag"
    broken = Fault(channel=name, kind=kind, start_s=100.0, end_s=200.0, other=other)
    with_it, without = (read(faults, [99.0, 150.0, 9000.0]) for faults in ([broken], []))
    assert with_it[0] == without[0]
    touched = {name} if other is None else {name, other}
    for untouched in set(PLACES) - touched:
        assert with_it[1][untouched] == without[1][untouched]
    assert with_it[2]["mould"] == without[2]["mould"]
    if kind is not FaultKind.SLOW:
        assert with_it[2]["bag"] == without[2]["bag"]


@pytest.mark.parametrize("name", PLACES)
@pytest.mark.parametrize("kind", FaultKind)
def test_any_channel_takes_any_fault(name: str, kind: FaultKind) -> None:
    partners = {"bag": "pump", "pump": "bag", "mould": "cup"}
    other = partners.get(name, "mould") if kind is FaultKind.SWAPPED else None
    broken = Fault(channel=name, kind=kind, start_s=0.0, other=other)
    reading = read([broken], [0.0, 1.0, 2.0])[-1][name]
    assert (reading.value is None) == (reading.lead is not Lead.FINE)


def test_off_is_not_read() -> None:
    assert read([fault("cup", FaultKind.OFF)], [150.0])[0]["cup"] == Reading(None, Lead.NOT_READ)


def test_stuck_repeats_the_last_reading_before_it() -> None:
    sensors = Sensors(PERFECT, [fault("bag", FaultKind.STUCK)], seed=1)
    said = [
        sensors.read(time_s, {**TRUTH, "bag": bag_pa})["bag"].value
        for time_s, bag_pa in ((99.0, 2000.0), (100.0, 3000.0), (199.0, 4000.0), (200.0, 5000.0))
    ]
    assert said == [2000.0, 2000.0, 2000.0, 5000.0]


def test_garbage_is_anything_in_the_range() -> None:
    times_s = [100.0 + 0.5 * i for i in range(200)]
    said = [row["bag"].value for row in read([fault("bag", FaultKind.GARBAGE)], times_s)]
    values = [value for value in said if value is not None]
    assert len(values) == 200
    assert RAILS_PA[0] <= min(values) < 10000.0 < 90000.0 < max(values) <= RAILS_PA[1]


def test_wrong_is_off_by_its_amount() -> None:
    rows = read([fault("mould", FaultKind.WRONG, amount=-7.5)], [150.0])
    assert rows[0]["mould"].value == 302.5


def test_slow_lags_by_its_time_constant() -> None:
    sensors = Sensors(PERFECT, [fault("cup", FaultKind.SLOW, amount=60.0)], seed=1)
    sensors.read(100.0, {**TRUTH, "cup": 300.0})
    said = [sensors.read(101.0 + i, TRUTH)["cup"].value for i in range(60)]
    assert said[-1] == pytest.approx(400.0 - 100.0 * math.exp(-1.0))


def test_delayed_says_what_was_true_before() -> None:
    sensors = Sensors(PERFECT, [fault("bag", FaultKind.DELAYED, amount=20.0)], seed=1)
    said = [
        sensors.read(float(time_s), {**TRUTH, "bag": 1000.0 + time_s})["bag"].value
        for time_s in range(80, 202)
    ]
    assert said[99 - 80] == 1099.0
    assert said[150 - 80] == 1130.0
    assert said[200 - 80] == 1200.0


def test_intermittent_loses_its_share() -> None:
    times_s = [100.0 + 0.05 * i for i in range(2000)]
    rows = read([fault("bag", FaultKind.INTERMITTENT, amount=0.3)], times_s)
    lost = sum(row["bag"].lead is Lead.NOT_READ for row in rows) / 2000.0
    # Binomial: one standard deviation is 0.0102.
    assert lost == pytest.approx(0.3, abs=0.05)


def test_noisy_scatters_by_its_amount() -> None:
    times_s = [100.0 + 0.05 * i for i in range(2000)]
    rows = read([fault("bag", FaultKind.NOISY, amount=400.0)], times_s)
    values = [row["bag"].value or math.nan for row in rows]
    assert statistics.pstdev(values) == pytest.approx(400.0, rel=0.1)


def test_drifting_walks_off_by_its_amount_an_hour() -> None:
    rows = read([fault("bag", FaultKind.DRIFTING, amount=3600.0)], [100.0, 150.0])
    assert [row["bag"].value for row in rows] == [2000.0, 2050.0]


def test_detached_reads_the_shop_or_the_room() -> None:
    faults = [fault("part1", FaultKind.DETACHED), fault("bag", FaultKind.DETACHED)]
    row = read(faults, [150.0])[0]
    assert (row["part1"].value, row["bag"].value) == (295.0, 101300.0)


def test_swapped_channels_trade_places() -> None:
    row = read([fault("mould", FaultKind.SWAPPED, other="cup")], [150.0])[0]
    assert (row["mould"].value, row["cup"].value) == (400.0, 310.0)


def test_reversed_leads_mirror_a_couple_at_its_chip_and_a_gauge_at_the_room() -> None:
    faults = [fault("cup", FaultKind.REVERSED), fault("bag", FaultKind.REVERSED)]
    row = read(faults, [150.0])[0]
    # The chip adds its own warmth to what the couple says, so that is where the mirror stands.
    assert row["cup"].value == 2.0 * (295.0 + CHIP_ABOVE_SHOP_K) - 400.0
    assert row["bag"].value == RAILS_PA[1]


def test_bridged_leads_read_the_chip() -> None:
    row = read([fault("part1", FaultKind.BRIDGED)], [150.0])[0]
    assert row["part1"].value == 295.0 + CHIP_ABOVE_SHOP_K


def test_a_fault_that_comes_by_hand_takes_the_place_of_the_plan() -> None:
    sensors = Sensors(PERFECT, [fault("cup", FaultKind.OFF)], seed=1)
    sensors.go_wrong([fault("mould", FaultKind.SWAPPED, other="cup")])
    row = sensors.read(150.0, TRUTH)
    assert (row["mould"].value, row["cup"].value) == (400.0, 310.0)


def test_a_broken_or_shorted_couple_is_seen_by_its_chip() -> None:
    faults = [fault("cup", FaultKind.OPEN), fault("mould", FaultKind.SHORTED)]
    row = read(faults, [150.0])[0]
    assert row["cup"] == Reading(None, Lead.OPEN)
    assert row["mould"] == Reading(None, Lead.SHORTED)


def test_a_broken_or_shorted_gauge_sits_at_a_rail() -> None:
    faults = [fault("bag", FaultKind.OPEN), fault("pump", FaultKind.SHORTED)]
    row = read(faults, [150.0])[0]
    assert (row["bag"].value, row["pump"].value) == RAILS_PA


def test_healthy_sensors_are_as_good_as_their_settings_say() -> None:
    settings = SensorSettings(gauge_wander_pa=0.0, missed_share=0.0)
    sensors = Sensors(settings, [], seed=5)
    rows = [sensors.read(2.0 * i, TRUTH) for i in range(1500)]
    bag = [row["bag"].value or math.nan for row in rows]
    assert statistics.pstdev(bag) == pytest.approx(math.hypot(26.0, 26.86 / 12**0.5), rel=0.1)
    assert {round(value / 26.86, 6) % 1.0 for value in bag} == {0.0}
    assert {round((row["cup"].value or math.nan) - 273.15, 6) % 0.25 for row in rows} == {0.0}


def test_wander_is_slow_and_as_large_as_its_setting() -> None:
    settings = SensorSettings(gauge_zero_pa=0.0, gauge_noise_pa=0.0, gauge_step_pa=0.0)
    sensors = Sensors(settings, [], seed=5)
    errors = [(sensors.read(60.0 * i, TRUTH)["bag"].value or 2000.0) - 2000.0 for i in range(4000)]
    assert statistics.pstdev(errors) == pytest.approx(settings.gauge_wander_pa, rel=0.2)
    steps = [later - earlier for earlier, later in zip(errors, errors[1:], strict=False)]
    # First-order: sd of a step is sd sqrt(2 (1 - exp(-60/900))).
    expected = settings.gauge_wander_pa * math.sqrt(2.0 * (1.0 - math.exp(-60.0 / 900.0)))
    assert statistics.pstdev(steps) == pytest.approx(expected, rel=0.1)


def test_a_fault_on_one_channel_changes_no_other() -> None:
    truth = TRUTH
    fine, broken = (
        Sensors(SensorSettings(), faults, seed=5)
        for faults in ([], [fault("bag", FaultKind.NOISY, amount=400.0)])
    )
    for i in range(200):
        first, second = fine.read(0.5 * i + 60.0, truth), broken.read(0.5 * i + 60.0, truth)
        assert first["pump"] == second["pump"]
        assert first["cup"] == second["cup"]
