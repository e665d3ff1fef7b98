"""Too hot, too late, silent: what the couples raise, and what they cannot."""

from __future__ import annotations

import pytest

from firmware_host.model.events import AlarmState, SensorFaultChanged
from firmware_host.model.samples import Frame, Reason
from hardware.units import ZERO_CELSIUS_K
from tests.core.story import DEEP_PA, Told

LIMIT_K = 60.0 + ZERO_CELSIUS_K
ACTIVE, RETURNED = AlarmState.ACTIVE, AlarmState.RETURNED


def warmed(to_k: float) -> Told:
    """A wet laminate and its mould brought up together, half a kelvin a second."""
    told = Told(others=("mould",))
    told.pull_down()
    ramp(told, to_k)
    return told


def ramp(told: Told, to_k: float) -> None:
    while told.part_k is not None and abs(told.part_k - to_k) > 1e-9:
        step_k = min(max(to_k - told.part_k, -0.5), 0.5)
        told.part_k += step_k
        told.others["mould"] = told.part_k - 0.5
        told.wait(1.0)


@pytest.mark.parametrize(("above_k", "hot"), [(0.0, False), (0.01, True)])
def test_a_laminate_is_too_hot_above_its_limit_and_not_at_it(above_k: float, *, hot: bool) -> None:
    told = warmed(LIMIT_K + above_k)
    told.wait(60.0)
    assert bool(told.raised("over_temperature")) is hot


def test_too_hot_is_over_two_kelvin_below_the_limit_and_a_minute_later() -> None:
    told = warmed(LIMIT_K + 1.0)
    told.wait(30.0)
    ramp(told, LIMIT_K - 1.9)
    told.wait(120.0)
    assert [e.state for e in told.changes("over_temperature")] == [ACTIVE]
    ramp(told, LIMIT_K - 2.6)
    told.wait(120.0)
    assert [e.state for e in told.changes("over_temperature")] == [ACTIVE, RETURNED]


def test_a_couple_that_dies_hot_does_not_clear_the_alarm() -> None:
    told = warmed(LIMIT_K + 2.0)
    told.wait(30.0)
    told.part_k = None
    for _ in range(40):
        told.others["mould"] -= 0.5
        told.wait(2.0)
    told.wait(120.0)
    assert [e.state for e in told.changes("over_temperature")] == [ACTIVE]


def test_a_couple_that_dies_on_its_way_up_raises_nothing() -> None:
    told = Told(others=("mould",))
    told.pull_down()
    told.part_k = None
    told.wait(120.0)
    assert told.raised("over_temperature") == []


def test_the_shop_and_the_cup_are_not_judged_by_the_limit() -> None:
    told = Told(others=("cup",))
    told.pull_down()
    for _ in range(120):
        told.others["cup"] += 1.0
        told.wait(2.0)
    assert told.raised("over_temperature") == []


@pytest.mark.parametrize("mixed_s", [40.0, 40.4])
def test_late_is_said_at_the_latest_gel_time_and_no_second_before(mixed_s: float) -> None:
    told = Told()
    told.part_k = told.shop_k = 283.15
    told.wait(41.0)
    told.mark("mixed", ago_s=41.0 - mixed_s)
    told.wait(3598.0 + (mixed_s > 40.0))
    assert told.raised("exotherm_late") == []
    told.wait(1.0)
    (raised,) = told.raised("exotherm_late")
    assert raised.time_s == (3640.0 if mixed_s == 40.0 else 3641.0)


def test_nothing_is_late_where_nothing_was_mixed() -> None:
    told = Told()
    told.wait(4000.0)
    assert told.raised("exotherm_late") == []


def test_a_finger_on_the_resin_in_time_keeps_the_late_alarm_away() -> None:
    told = Told()
    told.part_k = told.shop_k = 283.15
    told.pull_down()
    told.wait(3000.0)
    told.mark("gel_seen")
    told.wait(1000.0)
    assert told.raised("exotherm_late") == []


def test_one_broken_couple_is_one_alarm_and_one_fault() -> None:
    told = Told(others=("mould",))
    told.wait(60.0)
    for _ in range(120):
        told.now_s += 1.0
        values = (DEEP_PA, None, 293.15, 293.15)
        told.step(Frame(told.now_s, 0, values, (None, Reason.OPEN, None, None)))
    faults = [e for e in told.events if isinstance(e, SensorFaultChanged)]
    assert [(e.channel, e.kind, e.start_s, e.end_s) for e in faults] == [
        ("part1", "open", 61.0, None)
    ]
    assert [(e.channel, e.raised_s) for e in told.raised("sensor_fault")] == [("part1", 61.0)]


def test_a_couple_plugged_in_again_ends_its_fault_with_the_time_it_came_back() -> None:
    told = Told()
    told.wait(60.0)
    told.part_k = None
    told.wait(30.0)
    told.part_k = 293.15
    back_s = told.now_s + 1.0
    told.wait(30.0)
    faults = [e for e in told.events if isinstance(e, SensorFaultChanged)]
    assert [(e.kind, e.start_s, e.end_s) for e in faults] == [
        ("silent", 60.0, None),
        ("silent", 60.0, back_s),
    ]
    changes = told.changes("sensor_fault")
    assert [(e.state, e.cleared_s) for e in changes] == [(ACTIVE, None), (RETURNED, back_s)]


def test_every_event_is_said_at_the_moment_it_carries() -> None:
    """A replay cut at any row must hold every event of its past, and none of its future."""
    told = Told()
    said_s: list[tuple[float, float]] = []
    for second in range(200):
        told.part_k = None if 60 <= second < 90 else 293.15
        seen = len(told.events)
        told.now_s += 0.73
        told.frame()
        said_s += [(event.time_s, told.now_s) for event in told.events[seen:]]
    assert len(said_s) >= 4
    assert all(at_s <= now_s < at_s + 1.73 for at_s, now_s in said_s)
    assert [at for at, _ in said_s] == sorted(at for at, _ in said_s)
