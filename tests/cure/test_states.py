"""The state of the resin: the table, and what each finding takes."""

from __future__ import annotations

from dataclasses import replace

import pytest

from firmware_host.core.cure_state import (
    CLOCK_LATE,
    CLOCK_OUT,
    DEATH_HOLDS_S,
    DEATH_LIKELY,
    DETECT_S,
    KICK_SURE,
    CureStateWatch,
    Seen,
)
from firmware_host.cure.known import Outlook
from firmware_host.cure.states import TRANSITIONS, Finding, advance
from firmware_host.errors import IllegalTransitionError
from firmware_host.model.events import CureState

C = CureState
WAITING = Outlook(
    gel_past=0.01,
    gel_s=(2000.0, 3000.0, 4000.0),
    gel_early_s=2400.0,
    conversion=(0.0, 0.0, 0.01),
    clock_past=0.02,
    died=0.0,
)
GELLED = replace(WAITING, gel_past=1.0, conversion=(0.3, 0.4, 0.5), clock_past=0.6)
CURED = replace(GELLED, conversion=(0.66, 0.70, 0.74))
SEEN = Seen(
    time_s=600.0,
    outlook=WAITING,
    mixed_s=0.0,
    latest_gel_s=7200.0,
    witnessed=True,
    shows=True,
    heated=False,
    rise_k=0.0,
    peak_rise_k=0.0,
    peak_passed=False,
    gel_seen=False,
    limit_conversion=0.70,
)
KICKED = replace(SEEN, time_s=3300.0, outlook=GELLED, rise_k=8.0, peak_rise_k=8.0)
COOLED = replace(KICKED, outlook=CURED, rise_k=2.0, peak_rise_k=30.0, peak_passed=True)
LATE = replace(SEEN, time_s=7200.0)
JUST_OUT = replace(LATE, outlook=replace(WAITING, clock_past=CLOCK_OUT))
OUT = replace(JUST_OUT, time_s=JUST_OUT.time_s + DETECT_S)
SLOW = replace(SEEN, time_s=5000.0, outlook=replace(WAITING, clock_past=CLOCK_LATE))
DEAD = replace(KICKED, outlook=replace(GELLED, died=DEATH_LIKELY), peak_passed=True)


def states_of(*looks: Seen) -> list[CureState]:
    watch = CureStateWatch()
    states = []
    for seen in looks:
        watch.look(seen)
        states.append(watch.state)
    return states


@pytest.mark.parametrize(
    ("looks", "state"),
    [
        ([SEEN], C.WAITING),
        ([replace(SEEN, shows=False)], C.NOT_OBSERVABLE),
        ([replace(SEEN, shows=False), SEEN], C.WAITING),
        ([replace(LATE, time_s=7199.0)], C.WAITING),
        ([LATE], C.LATE),
        ([replace(LATE, outlook=replace(WAITING, gel_past=0.51))], C.WAITING),
        ([LATE, JUST_OUT], C.LATE),
        ([JUST_OUT, OUT], C.NO_KICK),
        ([SLOW], C.WAITING),
        ([SLOW, replace(SLOW, time_s=SLOW.time_s + DETECT_S)], C.LATE),
        ([SLOW, SEEN, replace(SLOW, time_s=SLOW.time_s + DETECT_S)], C.WAITING),
        ([LATE, replace(OUT, outlook=replace(WAITING, clock_past=CLOCK_OUT - 0.01))], C.LATE),
        ([JUST_OUT, OUT, KICKED], C.KICKED),
        ([replace(KICKED, outlook=replace(GELLED, gel_past=KICK_SURE - 0.01))], C.WAITING),
        ([replace(SEEN, gel_seen=True)], C.KICKED),
        ([replace(SEEN, shows=False), KICKED], C.KICKED),
        ([replace(SEEN, witnessed=False)], C.DOUBTED),
        ([replace(SEEN, witnessed=False), SEEN], C.WAITING),
        ([KICKED, replace(KICKED, witnessed=False)], C.DOUBTED),
        ([KICKED, replace(KICKED, witnessed=False), KICKED], C.KICKED),
        ([KICKED, replace(COOLED, time_s=5000.0)], C.COOLING),
        ([KICKED, SEEN], C.WAITING),
    ],
)
def test_a_look_leads_to_its_state(looks: list[Seen], state: CureState) -> None:
    assert states_of(*looks)[-1] is state


def test_a_kick_after_it_was_late_is_remembered_as_late() -> None:
    watch = CureStateWatch()
    watch.look(LATE)
    watch.look(KICKED)
    assert (watch.state, watch.kicked_late) == (C.KICKED, True)


@pytest.mark.parametrize(
    ("after_s", "state"), [(DEATH_HOLDS_S - 5.0, C.COOLING), (DEATH_HOLDS_S, C.DIED)]
)
def test_a_stop_is_said_once_it_was_believed_for_twenty_minutes(
    after_s: float, state: CureState
) -> None:
    later = replace(DEAD, time_s=DEAD.time_s + after_s)
    assert states_of(KICKED, DEAD, later)[-1] is state


@pytest.mark.parametrize(
    "change",
    [
        {"witnessed": False},
        {"heated": True},
        {"peak_rise_k": 0.6},
        {"peak_passed": False},
        {"outlook": replace(GELLED, died=0.49)},
    ],
)
def test_a_stop_is_not_said_of_what_was_not_seen(change: dict[str, object]) -> None:
    first = replace(DEAD, **change)  # type: ignore[arg-type]  # one field of Seen each
    later = replace(first, time_s=first.time_s + 2.0 * DEATH_HOLDS_S)
    assert C.DIED not in states_of(KICKED, first, later)


def test_a_dead_kick_that_lives_after_all_is_taken_back() -> None:
    later = replace(DEAD, time_s=DEAD.time_s + DEATH_HOLDS_S)
    lives = replace(later, outlook=replace(GELLED, died=0.19))
    assert states_of(KICKED, DEAD, later, lives)[-2:] == [C.DIED, C.COOLING]


@pytest.mark.parametrize(
    ("change", "state"),
    [
        ({"time_s": 11999.0}, C.COOLING),  # three times the latest gel that it may have been
        ({"time_s": 12000.0}, C.MAY_REST),
        ({"time_s": 12000.0, "rise_k": 5.1}, C.COOLING),
        ({"time_s": 12000.0, "outlook": replace(CURED, conversion=(0.59, 0.7, 0.8))}, C.COOLING),
        ({"time_s": 12000.0, "heated": True}, C.COOLING),
        ({"time_s": 23999.0}, C.MAY_REST),
        ({"time_s": 24000.0}, C.MAY_PULL),
        ({"time_s": 24000.0, "outlook": replace(CURED, conversion=(0.61, 0.7, 0.8))}, C.MAY_REST),
    ],
)
def test_rest_and_pull_take_time_cold_and_conversion(
    change: dict[str, object], state: CureState
) -> None:
    cooled = replace(COOLED, **change)  # type: ignore[arg-type]  # fields of Seen
    assert states_of(KICKED, replace(COOLED, time_s=5000.0), cooled)[-1] is state


def test_a_move_that_the_table_does_not_hold_is_refused_and_says_so() -> None:
    with pytest.raises(IllegalTransitionError, match="may_pull does not become anything by kick"):
        advance(C.MAY_PULL, Finding.KICK)


def test_every_state_but_the_last_leads_somewhere_and_every_state_can_be_reached() -> None:
    assert {state for state, _ in TRANSITIONS} == set(C) - {C.MAY_PULL}
    assert set(TRANSITIONS.values()) == set(C)
