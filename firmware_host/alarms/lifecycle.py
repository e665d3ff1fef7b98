"""The life of one alarm: legal moves are a table.

Absence of data never clears an alarm; acknowledging never clears it; an alarm whose cause went
away unseen stays `returned` until somebody says they saw it. One that is shelved says nothing, come
and go as its cause may, until its time on the shelf is over.
"""

from __future__ import annotations

from enum import StrEnum

from firmware_host.errors import IllegalTransitionError
from firmware_host.model.events import AlarmState


class AlarmInput(StrEnum):
    """What moves an alarm."""

    TRIP = "trip"
    RETURN = "return"
    ACKNOWLEDGE = "acknowledge"
    SHELVE = "shelve"
    UNSHELVE = "unshelve"


TRANSITIONS: dict[tuple[AlarmState, AlarmInput], AlarmState] = {
    (AlarmState.CLEAR, AlarmInput.TRIP): AlarmState.ACTIVE,
    (AlarmState.RETURNED, AlarmInput.TRIP): AlarmState.ACTIVE,
    (AlarmState.ACTIVE, AlarmInput.ACKNOWLEDGE): AlarmState.ACKNOWLEDGED,
    (AlarmState.ACTIVE, AlarmInput.RETURN): AlarmState.RETURNED,
    (AlarmState.ACKNOWLEDGED, AlarmInput.RETURN): AlarmState.CLEAR,
    (AlarmState.RETURNED, AlarmInput.ACKNOWLEDGE): AlarmState.CLEAR,
    (AlarmState.ACTIVE, AlarmInput.SHELVE): AlarmState.SHELVED,
    (AlarmState.ACKNOWLEDGED, AlarmInput.SHELVE): AlarmState.SHELVED,
    (AlarmState.RETURNED, AlarmInput.SHELVE): AlarmState.SHELVED,
    (AlarmState.SHELVED, AlarmInput.UNSHELVE): AlarmState.CLEAR,
}


def advance(state: AlarmState, given: AlarmInput) -> AlarmState:
    """Give the state that follows; raises IllegalTransitionError for a move not in the table.

    >>> advance(AlarmState.ACTIVE, AlarmInput.ACKNOWLEDGE)
    <AlarmState.ACKNOWLEDGED: 'acknowledged'>
    """
    try:
        return TRANSITIONS[state, given]
    except KeyError:
        raise IllegalTransitionError(f"an alarm that is {state} does not accept {given}") from None


def accepts(state: AlarmState, given: AlarmInput) -> bool:
    """Tell whether the table holds this move."""
    return (state, given) in TRANSITIONS
