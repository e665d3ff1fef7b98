"""Gauges as witnesses of each other, on closed forms of a bag that is pumped."""

from __future__ import annotations

import math
from collections.abc import Callable

import pytest

from firmware_host.channels.gauges import GaugeFound, Gauges
from firmware_host.model.channels import Role

ROOM_PA, PUMP_ON_S, UNTIL_S = 101_000.0, 600.0, 7200.0
Pair = tuple[float, float]
Lie = Callable[[float, Pair], Pair]


def truth(now_s: float, *, throttled: bool) -> Pair:
    """Bag with 25 or 200 s to fall by a factor of e, pump side with 5 s."""
    pumped_s = max(now_s - PUMP_ON_S, 0.0)
    bag = 2500.0 + (ROOM_PA - 2500.0) * math.exp(-pumped_s / (200.0 if throttled else 25.0))
    pump = 1800.0 + (ROOM_PA - 1800.0) * math.exp(-pumped_s / 5.0)
    return bag, pump


def judged(
    lie: Lie = lambda _, pair: pair,
    *,
    throttled: bool = False,
    still: Callable[[float], tuple[float, float]] = lambda now_s: (now_s, now_s),
    drawing: Callable[[float], bool] = lambda now_s: now_s >= PUMP_ON_S,
) -> list[GaugeFound]:
    gauges, found, blind = Gauges(), [], set[Role]()
    for number in range(1, int(UNTIL_S / 5.0)):
        now_s = number * 5.0
        bag, pump = lie(now_s, truth(now_s, throttled=throttled))
        for one in gauges.judge(
            now_s,
            None if Role.BAG in blind else bag,
            None if Role.PUMP in blind else pump,
            still(now_s),
            drawing=drawing(now_s),
        ):
            blind.add(one.role)
            found.append(one)
    return found


@pytest.mark.parametrize("throttled", [False, True])
@pytest.mark.parametrize("offset_pa", [-1000.0, 0.0, 1000.0])
def test_a_healthy_pair_is_not_accused_whatever_its_zeros(
    *, offset_pa: float, throttled: bool
) -> None:
    assert judged(lambda _, pair: (pair[0] + offset_pa, pair[1]), throttled=throttled) == []


@pytest.mark.parametrize("throttled", [False, True])
def test_swapped_gauges_are_named_in_the_first_pull_down(*, throttled: bool) -> None:
    found = judged(lambda _, pair: (pair[1], pair[0]), throttled=throttled)
    assert {(one.role, one.kind) for one in found} == {
        (Role.BAG, "swapped"),
        (Role.PUMP, "swapped"),
    }
    assert all(one.since_s < PUMP_ON_S + 60.0 for one in found)


def test_a_bag_that_sinks_below_a_working_pump_has_drifted() -> None:
    def sinks(now_s: float, pair: Pair) -> Pair:
        return pair[0] - max(now_s - 1800.0, 0.0) / 3600.0 * 6000.0, pair[1]

    (found,) = judged(sinks)
    assert (found.role, found.kind) == (Role.BAG, "drifting")


def test_a_pump_side_that_rises_behind_a_check_valve_accuses_nobody() -> None:
    def stopped(now_s: float, pair: Pair) -> Pair:
        return pair[0], pair[1] if now_s < 3000.0 else ROOM_PA

    assert judged(stopped) == []


def test_a_bag_that_shows_one_code_while_the_pump_draws_is_stuck() -> None:
    found = judged(
        lambda _, pair: (ROOM_PA, pair[1]), still=lambda now_s: (0.0, now_s), throttled=True
    )
    assert [(one.role, one.kind) for one in found] == [(Role.BAG, "stuck")]


def test_a_pump_gauge_that_hangs_in_the_room_is_named_and_the_bag_is_not() -> None:
    for throttled in (False, True):
        found = judged(lambda _, pair: (pair[0], ROOM_PA), throttled=throttled)
        assert [(one.role, one.kind) for one in found] == [(Role.PUMP, "fallen_off")]


def test_a_pump_gauge_that_lies_later_accuses_nobody() -> None:
    # Two gauges cannot say which of them lies; that the bag leads is only odd in a pull-down.
    found = judged(lambda now_s, pair: (pair[0], pair[1] if now_s < 3000.0 else 90_000.0))
    assert found == []


def test_a_pump_side_left_at_room_pressure_by_a_falling_bag_is_stuck() -> None:
    found = judged(lambda _, pair: (pair[0], ROOM_PA), still=lambda now_s: (now_s, 0.0))
    assert {one.role for one in found} == {Role.PUMP}


def test_a_quiet_pump_side_at_its_best_is_not_stuck() -> None:
    assert judged(still=lambda now_s: (now_s, min(now_s, 700.0)), throttled=True) == []


def test_a_shut_bag_need_not_follow_its_pump() -> None:
    found = judged(
        lambda _, pair: (8000.0, pair[1]),
        still=lambda now_s: (0.0, now_s),
        drawing=lambda _: False,
    )
    assert found == []


def test_a_barometer_that_moves_faster_than_weather_is_named() -> None:
    gauges, found = Gauges(), []
    for number in range(1, 1440):
        now_s = number * 5.0
        leap = 2500.0 if now_s > 3600.0 else 0.0
        found += gauges.weather(now_s, ROOM_PA - now_s / 3600.0 * 300.0 + leap)
    assert [(one.role, one.kind) for one in found] == [(Role.BAROMETER, "drifting")]


def test_a_storm_is_no_fault() -> None:
    gauges = Gauges()
    for number in range(1, 8640):
        now_s = number * 5.0
        assert gauges.weather(now_s, ROOM_PA - now_s / 3600.0 * 500.0) == []
