"""The edges of the loss of vacuum."""

from __future__ import annotations

import pytest

from firmware_host.model.events import AlarmState, Phase
from firmware_host.model.samples import Unseen
from tests.core.story import DEEP_PA, ROOM_PA, Told

LIMIT_PA = 15_000.0
ACTIVE, RETURNED = AlarmState.ACTIVE, AlarmState.RETURNED


def under_vacuum() -> Told:
    told = Told()
    told.pull_down()
    return told


def states(told: Told) -> list[AlarmState]:
    return [event.state for event in told.changes("vacuum_lost")]


@pytest.mark.parametrize(("pressure_pa", "lost"), [(LIMIT_PA, False), (LIMIT_PA + 0.1, True)])
def test_a_bag_is_lost_above_its_limit_and_not_at_it(pressure_pa: float, *, lost: bool) -> None:
    told = under_vacuum()
    told.bag_pa = pressure_pa
    told.wait(30.0)
    assert bool(told.raised("vacuum_lost")) is lost


@pytest.mark.parametrize(
    ("pressure_pa", "back"), [(0.97 * LIMIT_PA + 0.1, False), (0.97 * LIMIT_PA, True)]
)
def test_a_loss_is_over_only_well_below_the_limit(pressure_pa: float, *, back: bool) -> None:
    told = under_vacuum()
    told.bag_pa = ROOM_PA
    told.wait(5.0)
    told.bag_pa = pressure_pa
    told.wait(30.0)
    assert states(told) == ([ACTIVE, RETURNED] if back else [ACTIVE])


def test_a_bag_that_was_never_below_has_nothing_to_lose() -> None:
    told = Told()
    told.wait(30.0)
    told.mark("mixed")
    told.mark("bag_closed")
    told.wait(300.0)
    assert states(told) == []


def test_a_single_low_reading_before_the_pump_runs_arms_nothing() -> None:
    told = Told()
    told.wait(30.0)
    told.mark("mixed")
    told.mark("bag_closed")
    told.wait(10.0)
    told.bag_pa = 500.0
    told.wait(1.0)
    told.bag_pa = ROOM_PA
    told.wait(120.0)
    assert told.phases() == ["working", "drawdown"]
    assert states(told) == []


def test_a_single_low_reading_in_a_loss_ends_nothing() -> None:
    told = under_vacuum()
    told.bag_pa = ROOM_PA
    told.wait(5.0)
    told.bag_pa = DEEP_PA
    told.wait(1.0)
    told.bag_pa = ROOM_PA
    told.wait(60.0)
    assert states(told) == [ACTIVE]


def test_the_release_mark_clears_a_loss_at_the_time_of_the_mark() -> None:
    told = under_vacuum()
    told.bag_pa = ROOM_PA
    told.wait(20.0)
    told.mark("vacuum_released")
    released_s = told.now_s
    told.wait(30.0)
    assert states(told) == [ACTIVE, RETURNED]
    assert told.changes("vacuum_lost")[-1].cleared_s == released_s


def test_a_released_bag_is_no_longer_watched() -> None:
    told = under_vacuum()
    told.mark("vacuum_released")
    told.bag_pa = ROOM_PA
    told.wait(300.0)
    assert states(told) == []


def test_hours_that_nobody_watched_do_not_clear_a_loss() -> None:
    told = under_vacuum()
    told.bag_pa = ROOM_PA
    told.wait(5.0)
    told.now_s += 7200.0
    told.step(Unseen(told.now_s, told.now_s - 7200.0, "the board was off"))
    told.wait(5.0)
    assert states(told) == [ACTIVE]
    told.bag_pa = DEEP_PA
    told.wait(30.0)
    assert states(told) == [ACTIVE, RETURNED]


def test_a_loss_before_the_gel_is_not_taken_back_when_release_becomes_plausible() -> None:
    told = under_vacuum()
    told.bag_pa = ROOM_PA
    told.wait(5.0)
    told.monitor.state.phase = Phase.COOLING
    told.wait(30.0)
    assert states(told) == [ACTIVE]


def test_a_second_loss_is_a_second_alarm() -> None:
    told = under_vacuum()
    for _ in range(2):
        told.bag_pa = ROOM_PA
        told.wait(20.0)
        told.bag_pa = DEEP_PA
        told.wait(30.0)
    raised = told.raised("vacuum_lost")
    assert [event.id for event in raised] == ["vacuum_lost-1", "vacuum_lost-2"]
    assert raised[1].raised_s - raised[0].raised_s == 50.0
