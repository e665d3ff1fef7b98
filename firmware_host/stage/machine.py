"""The phases of a job: legal moves are a table, everything else changes nothing.

A job whose person forgot to press keys still moves on: a bag below its limit is a bag that was
closed, and a `mixed` that comes after all sends a job that had only been assumed wet back to work.
"""

from __future__ import annotations

from enum import StrEnum

from firmware_host.errors import IllegalTransitionError
from firmware_host.model.events import Phase


class Move(StrEnum):
    """What can move a job on."""

    PUMP_ON = "pump_on"
    MIXED = "mixed"
    BAG_CLOSED = "bag_closed"
    BELOW_LIMIT = "below the pressure limit"
    KICK_SEEN = "kick seen"
    PEAK_PASSED = "peak passed"
    RELEASED = "vacuum_released"
    DEMOULDED = "demoulded"
    LONG_RELEASED = "12 h after release"
    ABANDONED = "abandoned"


WET = (Phase.WORKING, Phase.DRAWDOWN, Phase.WAITING, Phase.KICKED, Phase.COOLING)
"""Phases with resin in the bag and vacuum wanted."""
OVER = (Phase.CLOSED, Phase.ABANDONED)

TRANSITIONS: dict[tuple[Phase, Move], Phase] = {
    (Phase.PLANNED, Move.PUMP_ON): Phase.DRY_BAG,
    (Phase.PLANNED, Move.MIXED): Phase.WORKING,
    (Phase.PLANNED, Move.BAG_CLOSED): Phase.DRAWDOWN,
    (Phase.DRY_BAG, Move.MIXED): Phase.WORKING,
    (Phase.DRY_BAG, Move.BAG_CLOSED): Phase.DRAWDOWN,
    (Phase.WORKING, Move.BAG_CLOSED): Phase.DRAWDOWN,
    (Phase.WORKING, Move.BELOW_LIMIT): Phase.WAITING,
    (Phase.WORKING, Move.KICK_SEEN): Phase.KICKED,
    (Phase.DRAWDOWN, Move.MIXED): Phase.WORKING,
    (Phase.DRAWDOWN, Move.BELOW_LIMIT): Phase.WAITING,
    (Phase.DRAWDOWN, Move.KICK_SEEN): Phase.KICKED,
    (Phase.WAITING, Move.MIXED): Phase.WORKING,
    (Phase.WAITING, Move.KICK_SEEN): Phase.KICKED,
    (Phase.KICKED, Move.PEAK_PASSED): Phase.COOLING,
    (Phase.RELEASED, Move.DEMOULDED): Phase.CLOSED,
    (Phase.RELEASED, Move.LONG_RELEASED): Phase.CLOSED,
    **{(phase, Move.RELEASED): Phase.RELEASED for phase in WET},
    **{(phase, Move.DEMOULDED): Phase.CLOSED for phase in WET},
    **{(phase, Move.ABANDONED): Phase.ABANDONED for phase in Phase if phase not in OVER},
}


def may_move(phase: Phase, move: Move) -> bool:
    """Tell whether the table holds this move."""
    return (phase, move) in TRANSITIONS


def advance(phase: Phase, move: Move) -> Phase:
    """Give the phase that follows; raises IllegalTransitionError for a move not in the table.

    >>> advance(Phase.WORKING, Move.BAG_CLOSED)
    <Phase.DRAWDOWN: 'drawdown'>
    """
    try:
        return TRANSITIONS[phase, move]
    except KeyError:
        raise IllegalTransitionError(f"a job in phase {phase} does not accept {move}") from None
