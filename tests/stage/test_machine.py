"""Every legal move of a job, and that nothing else is one."""

from __future__ import annotations

from itertools import product

import pytest

from firmware_host.errors import IllegalTransitionError
from firmware_host.model.events import Phase
from firmware_host.stage.machine import OVER, TRANSITIONS, WET, Move, advance, may_move


def test_a_job_that_is_over_stays_over() -> None:
    assert [key for key in TRANSITIONS if key[0] in OVER] == []


def test_every_job_can_be_abandoned_until_it_is_over() -> None:
    for phase in Phase:
        assert may_move(phase, Move.ABANDONED) is (phase not in OVER)


def test_wet_jobs_and_no_others_can_be_released() -> None:
    released = {phase for phase in Phase if may_move(phase, Move.RELEASED)}
    assert released == set(WET)


@pytest.mark.parametrize(("phase", "move"), list(product(Phase, Move)))
def test_what_the_table_does_not_hold_is_refused(phase: Phase, move: Move) -> None:
    if may_move(phase, move):
        assert advance(phase, move) is TRANSITIONS[phase, move]
        return
    with pytest.raises(IllegalTransitionError, match=f"a job in phase {phase} does not accept"):
        advance(phase, move)
