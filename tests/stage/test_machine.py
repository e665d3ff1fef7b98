"""Every legal move of a job, row by row, and that nothing else moves it."""

from __future__ import annotations

import re
from itertools import product

import pytest

from firmware_host.errors import IllegalTransitionError
from firmware_host.model.events import Phase
from firmware_host.stage.machine import OVER, TRANSITIONS, WET, Move, advance, may_move

P, M = Phase, Move
ROWS = {
    (P.PLANNED, M.PUMP_ON): P.DRY_BAG,
    (P.PLANNED, M.MIXED): P.WORKING,
    (P.PLANNED, M.BAG_CLOSED): P.DRAWDOWN,
    (P.PLANNED, M.ABANDONED): P.ABANDONED,
    (P.DRY_BAG, M.MIXED): P.WORKING,
    (P.DRY_BAG, M.BAG_CLOSED): P.DRAWDOWN,
    (P.DRY_BAG, M.ABANDONED): P.ABANDONED,
    (P.WORKING, M.BAG_CLOSED): P.DRAWDOWN,
    (P.WORKING, M.BELOW_LIMIT): P.WAITING,
    (P.WORKING, M.KICK_SEEN): P.KICKED,
    (P.WORKING, M.RELEASED): P.RELEASED,
    (P.WORKING, M.DEMOULDED): P.CLOSED,
    (P.WORKING, M.ABANDONED): P.ABANDONED,
    (P.DRAWDOWN, M.MIXED): P.WORKING,
    (P.DRAWDOWN, M.BELOW_LIMIT): P.WAITING,
    (P.DRAWDOWN, M.KICK_SEEN): P.KICKED,
    (P.DRAWDOWN, M.RELEASED): P.RELEASED,
    (P.DRAWDOWN, M.DEMOULDED): P.CLOSED,
    (P.DRAWDOWN, M.ABANDONED): P.ABANDONED,
    (P.WAITING, M.MIXED): P.WORKING,
    (P.WAITING, M.KICK_SEEN): P.KICKED,
    (P.WAITING, M.RELEASED): P.RELEASED,
    (P.WAITING, M.DEMOULDED): P.CLOSED,
    (P.WAITING, M.ABANDONED): P.ABANDONED,
    (P.KICKED, M.PEAK_PASSED): P.COOLING,
    (P.KICKED, M.RELEASED): P.RELEASED,
    (P.KICKED, M.DEMOULDED): P.CLOSED,
    (P.KICKED, M.ABANDONED): P.ABANDONED,
    (P.COOLING, M.RELEASED): P.RELEASED,
    (P.COOLING, M.DEMOULDED): P.CLOSED,
    (P.COOLING, M.ABANDONED): P.ABANDONED,
    (P.RELEASED, M.DEMOULDED): P.CLOSED,
    (P.RELEASED, M.LONG_RELEASED): P.CLOSED,
    (P.RELEASED, M.ABANDONED): P.ABANDONED,
}
"""Written out by hand from the phases of the wire format; the code builds its own with loops."""


@pytest.mark.parametrize(("phase", "move"), list(ROWS))
def test_a_legal_move_leads_where_the_table_says(phase: Phase, move: Move) -> None:
    assert may_move(phase, move)
    assert advance(phase, move) is ROWS[phase, move]


@pytest.mark.parametrize(
    ("phase", "move"), [pair for pair in product(Phase, Move) if pair not in ROWS]
)
def test_any_other_move_is_refused_by_name_and_changes_nothing(phase: Phase, move: Move) -> None:
    before = dict(TRANSITIONS)
    words = re.escape(f"a job in phase {phase} does not accept {move}")
    with pytest.raises(IllegalTransitionError, match=words):
        advance(phase, move)
    assert not may_move(phase, move)
    assert before == TRANSITIONS


def test_a_job_that_is_over_moves_no_more() -> None:
    assert OVER == (Phase.CLOSED, Phase.ABANDONED)
    assert not any(may_move(phase, move) for phase in OVER for move in Move)


def test_every_phase_but_the_first_can_be_reached() -> None:
    assert {*TRANSITIONS.values(), Phase.PLANNED} == set(Phase)


def test_vacuum_is_wanted_from_mixing_until_release() -> None:
    wanted = {Phase.WORKING, Phase.DRAWDOWN, Phase.WAITING, Phase.KICKED, Phase.COOLING}
    assert set(WET) == wanted
