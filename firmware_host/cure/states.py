"""What is known of the resin, in one word: legal moves are a table.

Every look gives one finding. A finding that the table does not hold for the present state changes
nothing: late is only said of what has not kicked, and a dead kick does not come back to waiting.
"""

from __future__ import annotations

from enum import StrEnum

from firmware_host.errors import IllegalTransitionError
from firmware_host.model.events import CureState


class Finding(StrEnum):
    """What a look at the resin found."""

    TOO_LITTLE_TO_SEE = "too little heat to see"
    WATCHED = "watched"
    LATE = "past the latest gel time"
    CLOCK_RUN_OUT = "every batch of this kind would have kicked"
    KICK = "kick"
    DEATH = "the kick stopped well short of the end"
    LIVES = "the kick goes on"
    NO_WITNESS = "no believed couple"
    PEAK_PAST = "peak past"
    RESTING = "near room, far enough, long enough"
    HARD = "as far as this room lets it go"


C, F = CureState, Finding
NOT_KICKED = (C.NOT_OBSERVABLE, C.WAITING, C.LATE, C.NO_KICK)
AFTER_KICK = (C.KICKED, C.DIED, C.COOLING, C.MAY_REST, C.MAY_PULL)
"""States in which the gel is past."""

TRANSITIONS: dict[tuple[CureState, Finding], CureState] = {
    (C.NOT_OBSERVABLE, F.WATCHED): C.WAITING,
    (C.WAITING, F.TOO_LITTLE_TO_SEE): C.NOT_OBSERVABLE,
    (C.WAITING, F.LATE): C.LATE,
    (C.KICKED, F.WATCHED): C.WAITING,
    **{(state, F.CLOCK_RUN_OUT): C.NO_KICK for state in (C.WAITING, C.LATE)},
    **{(state, F.KICK): C.KICKED for state in (*NOT_KICKED, C.DOUBTED)},
    **{(state, F.NO_WITNESS): C.DOUBTED for state in (C.WAITING, C.LATE, C.KICKED)},
    (C.DOUBTED, F.WATCHED): C.WAITING,
    (C.DOUBTED, F.LATE): C.LATE,
    (C.DOUBTED, F.CLOCK_RUN_OUT): C.NO_KICK,
    **{(state, F.DEATH): C.DIED for state in (C.KICKED, C.DOUBTED, C.COOLING)},
    (C.DIED, F.LIVES): C.KICKED,
    **{(state, F.PEAK_PAST): C.COOLING for state in (C.KICKED, C.DOUBTED)},
    (C.COOLING, F.RESTING): C.MAY_REST,
    **{(state, F.HARD): C.MAY_PULL for state in (C.COOLING, C.MAY_REST)},
}


def may_move(state: CureState, finding: Finding) -> bool:
    """Tell whether the table holds this move."""
    return (state, finding) in TRANSITIONS


def advance(state: CureState, finding: Finding) -> CureState:
    """Give the state that follows; raises IllegalTransitionError for a move not in the table.

    >>> advance(CureState.LATE, Finding.KICK)
    <CureState.KICKED: 'kicked'>
    """
    try:
        return TRANSITIONS[state, finding]
    except KeyError:
        raise IllegalTransitionError(
            f"resin that is {state} does not become anything by {finding}"
        ) from None
