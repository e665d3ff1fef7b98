"""Delays, acknowledging and ids of alarms."""

from __future__ import annotations

import pytest

from firmware_host.alarms.kinds import KINDS
from firmware_host.core.alarm_board import AlarmBoard
from firmware_host.model.events import AlarmChanged, AlarmState

ON_S = KINDS["over_temperature"].on_delay_s
OFF_S = KINDS["over_temperature"].off_delay_s


def heat(
    board: AlarmBoard, now_s: float, *, holds: bool, since_s: float | None = None
) -> list[AlarmChanged]:
    return board.condition("over_temperature", now_s, holds=holds, since_s=since_s, text="hot")


def raised() -> tuple[AlarmBoard, AlarmChanged]:
    board = AlarmBoard()
    heat(board, 100.0, holds=True)
    (said,) = heat(board, 100.0 + ON_S, holds=True)
    return board, said


def test_the_delays_under_test_are_not_zero() -> None:
    assert ON_S > 1.0
    assert OFF_S > 1.0


@pytest.mark.parametrize(
    ("held_s", "count"), [(ON_S - 0.001, 0), (ON_S, 1), (ON_S + 1.0, 1)], ids=str
)
def test_a_cause_must_hold_for_the_on_delay(held_s: float, count: int) -> None:
    board = AlarmBoard()
    assert heat(board, 100.0, holds=True) == []
    assert len(heat(board, 100.0 + held_s, holds=True)) == count


def test_an_alarm_is_raised_with_the_time_its_cause_began() -> None:
    _, said = raised()
    kind = KINDS["over_temperature"]
    assert said == AlarmChanged(
        time_s=100.0 + ON_S,
        id="over_temperature-1",
        name="over_temperature",
        channel=None,
        state=AlarmState.ACTIVE,
        priority=kind.priority,
        raised_s=100.0,
        cleared_s=None,
        text="hot",
        action=kind.action,
    )


def test_a_beginning_known_from_elsewhere_counts_towards_the_delay() -> None:
    said = heat(AlarmBoard(), 100.0, holds=True, since_s=100.0 - ON_S)
    assert [change.raised_s for change in said] == [100.0 - ON_S]


def test_a_pause_in_the_cause_starts_the_on_delay_afresh() -> None:
    board = AlarmBoard()
    heat(board, 100.0, holds=True)
    heat(board, 100.0 + ON_S / 2.0, holds=False)
    assert heat(board, 100.0 + ON_S, holds=True) == []
    assert len(heat(board, 100.0 + 2.0 * ON_S, holds=True)) == 1


@pytest.mark.parametrize(("gone_s", "count"), [(OFF_S - 0.001, 0), (OFF_S, 1)], ids=str)
def test_a_cause_must_be_gone_for_the_off_delay(gone_s: float, count: int) -> None:
    board, _ = raised()
    assert heat(board, 200.0, holds=False) == []
    assert len(heat(board, 200.0 + gone_s, holds=False)) == count


def test_an_alarm_is_cleared_with_the_time_its_cause_went() -> None:
    board, _ = raised()
    heat(board, 200.0, holds=False)
    (said,) = heat(board, 200.0 + OFF_S, holds=False)
    assert (said.state, said.cleared_s) == (AlarmState.RETURNED, 200.0)


def test_a_return_of_the_cause_starts_the_off_delay_afresh() -> None:
    board, _ = raised()
    heat(board, 200.0, holds=False)
    assert heat(board, 201.0, holds=True) == []
    assert heat(board, 200.0 + OFF_S, holds=False) == []
    assert len(heat(board, 200.0 + 2.0 * OFF_S, holds=False)) == 1


def test_a_cause_that_flickers_neither_raises_nor_returns() -> None:
    board = AlarmBoard()
    assert [heat(board, float(i), holds=i % 2 == 0) for i in range(200)] == [[]] * 200
    board, _ = raised()
    assert [heat(board, 200.0 + i, holds=i % 2 == 1) for i in range(200)] == [[]] * 200


def test_a_cause_that_never_held_says_nothing() -> None:
    board = AlarmBoard()
    assert heat(board, 100.0, holds=False) == []
    assert board.views() == ()


def test_an_alarm_is_raised_once_however_long_it_holds() -> None:
    board, _ = raised()
    assert [heat(board, 200.0 + i, holds=True) for i in range(50)] == [[]] * 50


def test_acknowledging_is_not_clearing() -> None:
    board, first = raised()
    (said,) = board.acknowledge(first.id, 150.0)
    assert (said.state, said.cleared_s, said.id) == (AlarmState.ACKNOWLEDGED, None, first.id)
    assert board.active("over_temperature")
    assert [view.state for view in board.views()] == [AlarmState.ACKNOWLEDGED]


def test_an_acknowledged_alarm_clears_when_its_cause_goes() -> None:
    board, first = raised()
    board.acknowledge(first.id, 150.0)
    heat(board, 200.0, holds=False)
    (said,) = heat(board, 200.0 + OFF_S, holds=False)
    assert (said.state, said.cleared_s) == (AlarmState.CLEAR, 200.0)
    assert board.views() == ()


def test_a_returned_alarm_stays_in_sight_until_it_is_acknowledged() -> None:
    board, first = raised()
    heat(board, 200.0, holds=False)
    heat(board, 200.0 + OFF_S, holds=False)
    assert [view.state for view in board.views()] == [AlarmState.RETURNED]
    assert not board.active("over_temperature")
    (said,) = board.acknowledge(first.id, 400.0)
    assert (said.state, said.cleared_s) == (AlarmState.CLEAR, 200.0)
    assert board.views() == ()


def test_raising_again_gives_a_new_id() -> None:
    board, first = raised()
    heat(board, 200.0, holds=False)
    heat(board, 200.0 + OFF_S, holds=False)
    heat(board, 500.0, holds=True)
    (again,) = heat(board, 500.0 + ON_S, holds=True)
    assert (first.id, again.id) == ("over_temperature-1", "over_temperature-2")
    assert (again.raised_s, again.cleared_s) == (500.0, None)
    assert board.acknowledge(first.id, 600.0) == []


@pytest.mark.parametrize("alarm_id", ["", "over_temperature-2", "over_temperature", "nonsense-1"])
def test_an_unknown_id_acknowledges_nothing(alarm_id: str) -> None:
    board, _ = raised()
    assert board.acknowledge(alarm_id, 150.0) == []
    assert [view.state for view in board.views()] == [AlarmState.ACTIVE]


def test_acknowledging_twice_says_nothing_the_second_time() -> None:
    board, first = raised()
    board.acknowledge(first.id, 150.0)
    assert board.acknowledge(first.id, 151.0) == []


def test_channels_have_alarms_of_their_own_and_the_newest_comes_first() -> None:
    board = AlarmBoard()
    for at_s, channel in ((10.0, "part1"), (20.0, "part2")):
        board.condition("sensor_fault", at_s, holds=True, channel=channel)
    assert [view.id for view in board.views()] == ["sensor_fault-part2-1", "sensor_fault-part1-1"]
    assert board.active("sensor_fault", "part1")
    assert not board.active("sensor_fault")


SHELF_S = 600.0


def shelved() -> tuple[AlarmBoard, float]:
    """An alarm that was put aside, and until when."""
    board, said = raised()
    until_s = said.time_s + 1.0 + SHELF_S
    (put,) = board.shelve(said.id, said.time_s + 1.0, until_s)
    assert (put.state, put.shelved_until_s) == (AlarmState.SHELVED, until_s)
    return board, until_s


def test_a_shelved_alarm_says_nothing_come_and_go_as_its_cause_may() -> None:
    board, until_s = shelved()
    start_s = until_s - SHELF_S
    said = [
        one
        for step in range(1, round(SHELF_S))
        for one in heat(board, start_s + step, holds=step // 100 % 2 == 0)
    ]
    assert said == []
    (view,) = board.views()
    assert (view.state, view.shelved_until_s) == (AlarmState.SHELVED, until_s)
    assert board.end_shelves(until_s - 0.001) == []


def test_a_shelf_that_ends_raises_anew_what_still_holds() -> None:
    board, until_s = shelved()
    gone, again = board.end_shelves(until_s)
    assert (gone.id, gone.state, gone.cleared_s) == (
        "over_temperature-1",
        AlarmState.CLEAR,
        until_s,
    )
    assert (again.id, again.state) == ("over_temperature-2", AlarmState.ACTIVE)
    assert (again.raised_s, again.text) == (100.0, "hot")
    assert again.shelved_until_s is gone.shelved_until_s is None
    assert board.end_shelves(until_s + 1.0) == []


def test_a_shelf_that_ends_is_quiet_where_the_cause_is_gone() -> None:
    board, until_s = shelved()
    heat(board, until_s - 5.0, holds=False)
    (gone,) = board.end_shelves(until_s)
    assert gone.state is AlarmState.CLEAR
    assert board.views() == ()
    heat(board, until_s + 1.0, holds=True)
    (new,) = heat(board, until_s + 1.0 + ON_S, holds=True)
    assert new.id == "over_temperature-2"


@pytest.mark.parametrize("holds", [True, False])
def test_a_shelved_alarm_is_active_as_its_cause_is(holds: bool) -> None:  # noqa: FBT001 - a case
    board, until_s = shelved()
    heat(board, until_s - 5.0, holds=holds)
    assert board.active("over_temperature") is holds


def test_what_is_not_there_or_lies_there_already_is_not_shelved() -> None:
    board, until_s = shelved()
    assert board.shelve("over_temperature-1", until_s - 1.0, until_s + 50.0) == []
    assert board.shelve("vacuum_lost-1", until_s - 1.0, until_s + 50.0) == []
    assert board.acknowledge("over_temperature-1", until_s - 1.0) == []
