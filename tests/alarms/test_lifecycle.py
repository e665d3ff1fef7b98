"""Every legal turn in the life of an alarm, and that nothing else turns it."""

from __future__ import annotations

import re
from itertools import product

import pytest

from firmware_host.alarms.lifecycle import TRANSITIONS, AlarmInput, accepts, advance
from firmware_host.errors import IllegalTransitionError
from firmware_host.model.events import AlarmState

S, G = AlarmState, AlarmInput
ROWS = {
    (S.CLEAR, G.TRIP): S.ACTIVE,
    (S.ACTIVE, G.ACKNOWLEDGE): S.ACKNOWLEDGED,
    (S.ACTIVE, G.RETURN): S.RETURNED,
    (S.ACKNOWLEDGED, G.RETURN): S.CLEAR,
    (S.RETURNED, G.TRIP): S.ACTIVE,
    (S.RETURNED, G.ACKNOWLEDGE): S.CLEAR,
    (S.ACTIVE, G.SHELVE): S.SHELVED,
    (S.ACKNOWLEDGED, G.SHELVE): S.SHELVED,
    (S.RETURNED, G.SHELVE): S.SHELVED,
    (S.SHELVED, G.UNSHELVE): S.CLEAR,
}


@pytest.mark.parametrize(("state", "given"), list(ROWS))
def test_a_legal_turn_leads_where_the_table_says(state: AlarmState, given: AlarmInput) -> None:
    assert accepts(state, given)
    assert advance(state, given) is ROWS[state, given]


@pytest.mark.parametrize(
    ("state", "given"), [pair for pair in product(AlarmState, AlarmInput) if pair not in ROWS]
)
def test_any_other_turn_is_refused_by_name_and_changes_nothing(
    state: AlarmState, given: AlarmInput
) -> None:
    before = dict(TRANSITIONS)
    words = re.escape(f"an alarm that is {state} does not accept {given}")
    with pytest.raises(IllegalTransitionError, match=words):
        advance(state, given)
    assert not accepts(state, given)
    assert before == TRANSITIONS


def test_acknowledging_an_active_alarm_does_not_clear_it() -> None:
    assert advance(S.ACTIVE, G.ACKNOWLEDGE) is not S.CLEAR


def test_a_cause_that_went_away_unseen_stays_until_somebody_saw_it() -> None:
    assert advance(S.ACTIVE, G.RETURN) is S.RETURNED
    assert advance(S.RETURNED, G.ACKNOWLEDGE) is S.CLEAR
