"""The life of an alarm, and what each alarm says of itself."""

from __future__ import annotations

from itertools import product

import pytest

from firmware_host.alarms.kinds import KINDS
from firmware_host.alarms.lifecycle import TRANSITIONS, AlarmInput, accepts, advance
from firmware_host.core.alarm_board import AlarmBoard
from firmware_host.errors import IllegalTransitionError
from firmware_host.model.events import AlarmState


@pytest.mark.parametrize(("state", "given"), list(product(AlarmState, AlarmInput)))
def test_what_the_table_does_not_hold_is_refused(state: AlarmState, given: AlarmInput) -> None:
    if accepts(state, given):
        assert advance(state, given) is TRANSITIONS[state, given]
        return
    with pytest.raises(IllegalTransitionError, match="does not accept"):
        advance(state, given)


def test_acknowledging_an_active_alarm_does_not_clear_it() -> None:
    assert advance(AlarmState.ACTIVE, AlarmInput.ACKNOWLEDGE) is AlarmState.ACKNOWLEDGED


@pytest.mark.parametrize("name", KINDS)
def test_every_alarm_says_cause_consequence_action_and_time(name: str) -> None:
    kind = KINDS[name]
    assert kind.name == name
    assert kind.priority in ("high", "medium", "low")
    assert all((kind.cause, kind.consequence, kind.action, kind.time_to_act))


def board_after(holds: list[bool]) -> list[AlarmState]:
    """One answer a second to whether over_temperature's cause holds: 10 s on, 60 s off."""
    board = AlarmBoard()
    states: list[AlarmState] = []
    for second, answer in enumerate(holds):
        states += [
            event.state
            for event in board.condition("over_temperature", float(second), holds=answer)
        ]
    return states


def test_the_on_delay_has_an_edge() -> None:
    assert board_after([True] * 10) == []
    assert board_after([True] * 11) == [AlarmState.ACTIVE]


def test_the_off_delay_has_an_edge() -> None:
    raised = [True] * 11
    assert board_after([*raised, *[False] * 60]) == [AlarmState.ACTIVE]
    assert board_after([*raised, *[False] * 61]) == [AlarmState.ACTIVE, AlarmState.RETURNED]


def test_a_cause_that_flickers_neither_raises_nor_returns() -> None:
    assert board_after([True, False] * 100) == []
    assert board_after([*[True] * 11, *[False, True] * 100]) == [AlarmState.ACTIVE]


def test_an_alarm_raised_again_has_an_id_of_its_own() -> None:
    board = AlarmBoard()
    ids = []
    for start in (0.0, 100.0):
        ids += [e.id for e in board.condition("bag_leaking", start, holds=True)]
        board.condition("bag_leaking", start + 50.0, holds=False)
    assert ids == ["bag_leaking-1", "bag_leaking-2"]


def test_an_unknown_id_acknowledges_nothing() -> None:
    assert AlarmBoard().acknowledge("vacuum_lost-7", 1.0) == []
