"""Marks of a busy person: late, missing, twice, out of place."""

from __future__ import annotations

import pytest

from firmware_host.model.events import GelForecast, MarkTaken, PhaseEntered
from firmware_host.model.samples import Tick, Unseen
from tests.core.story import DEEP_PA, ROOM_PA, Told

WORK_S = 25.0 * 60.0
"""The honest work time of a job that states none."""


def answers(told: Told) -> list[tuple[str, bool, str]]:
    return [(e.name, e.taken, e.text) for e in told.events if isinstance(e, MarkTaken)]


def skip(told: Told, seconds: float) -> None:
    """Let hours pass in which nobody watched."""
    start_s, told.now_s = told.now_s, told.now_s + seconds
    told.step(Unseen(told.now_s, start_s, "the board was off"))


def pumped_dry() -> Told:
    """A dry bag under vacuum, with its pump marked."""
    told = Told()
    told.wait(60.0)
    told.mark("pump_on")
    told.bag_pa = DEEP_PA
    told.wait(60.0)
    return told


def test_without_a_mixing_mark_time_counts_from_the_closing_less_the_work_time() -> None:
    told = Told()
    told.wait(1800.0)
    told.mark("bag_closed")
    told.wait(70.0)
    assert told.monitor.cure.mixed_s == 1800.0 - WORK_S
    assert told.monitor.cure.provisional
    assert told.phases() == ["drawdown"]


def test_an_inferred_mixing_widens_the_window() -> None:
    widths = []
    for marked in (True, False):
        told = Told()
        told.wait(120.0)
        if marked:
            told.mark("mixed")
        told.wait(WORK_S)
        told.mark("bag_closed")
        told.wait(70.0)
        assert told.monitor.cure.mixed_s == 120.0
        said = [event for event in told.events if isinstance(event, GelForecast)][-1]
        widths.append(said.high_s - said.low_s)
    assert widths[0] < widths[1]


def test_only_the_pump_was_marked() -> None:
    """Three quarters of an hour under vacuum is no dry test: it was poured without a mark."""
    told = pumped_dry()
    told.wait(44.0 * 60.0)
    assert told.phases() == ["dry_bag"]
    told.wait(120.0)
    assert told.phases() == ["dry_bag", "drawdown", "waiting"]
    assert told.monitor.cure.mixed_s == 60.0 - WORK_S
    told.bag_pa = ROOM_PA
    told.wait(5.0)
    assert len(told.raised("vacuum_lost")) == 1


def test_not_even_the_pump_was_marked() -> None:
    told = Told()
    told.wait(60.0)
    told.bag_pa = DEEP_PA
    told.wait(46.0 * 60.0)
    assert told.phases() == ["dry_bag", "drawdown", "waiting"]
    assert told.monitor.cure.mixed_s == pytest.approx(60.0 - WORK_S, abs=5.0)


def test_a_dry_bag_that_was_opened_again_is_not_taken_for_a_pour() -> None:
    told = pumped_dry()
    told.bag_pa = ROOM_PA
    told.wait(60.0 * 60.0)
    assert told.phases() == ["dry_bag"]
    assert told.raised("vacuum_lost") == []


def test_dosing_without_mixing_is_a_pour() -> None:
    told = Told()
    told.wait(1800.0)
    told.mark("dosed")
    assert told.phases() == ["working"]
    assert told.monitor.cure.mixed_s == 1800.0 - WORK_S


def test_dosing_counts_from_itself_and_not_from_a_dry_test_hours_ago() -> None:
    told = pumped_dry()
    told.bag_pa = ROOM_PA
    told.wait(10.0)
    skip(told, 7200.0)
    told.mark("dosed")
    assert told.monitor.cure.mixed_s == told.now_s - WORK_S


def test_opening_the_dry_bag_without_a_mark_is_no_loss() -> None:
    told = pumped_dry()
    told.bag_pa = ROOM_PA
    told.wait(600.0)
    told.mark("bag_closed")
    told.wait(60.0)
    assert told.raised("vacuum_lost") == []
    told.bag_pa = DEEP_PA
    told.wait(60.0)
    told.bag_pa = ROOM_PA
    told.wait(5.0)
    assert len(told.raised("vacuum_lost")) == 1


def test_a_bag_under_vacuum_while_the_cup_is_mixed_is_the_dry_one() -> None:
    told = pumped_dry()
    told.mark("mixed")
    told.wait(120.0)
    assert told.phases() == ["dry_bag", "working"]
    told.bag_pa = ROOM_PA
    told.wait(600.0)
    assert told.raised("vacuum_lost") == []
    told.bag_pa = DEEP_PA
    told.wait(10.0)
    assert told.phases() == ["dry_bag", "working", "waiting"]
    told.bag_pa = ROOM_PA
    told.wait(5.0)
    assert len(told.raised("vacuum_lost")) == 1


def test_a_mixing_marked_late_keeps_watching_the_wet_bag() -> None:
    """Pumped before the mark, but mixed before the pump: no dry bag."""
    told = pumped_dry()
    told.mark("mixed", ago_s=110.0)
    told.wait(10.0)
    assert told.phases() == ["dry_bag", "working", "waiting"]
    told.bag_pa = ROOM_PA
    told.wait(5.0)
    assert len(told.raised("vacuum_lost")) == 1


def test_a_late_mixing_mark_does_not_take_a_loss_back() -> None:
    told = Told()
    told.wait(30.0)
    told.mark("bag_closed")
    told.bag_pa = DEEP_PA
    told.wait(30.0)
    told.bag_pa = ROOM_PA
    told.wait(10.0)
    told.mark("mixed", ago_s=60.0)
    told.wait(60.0)
    assert [e.state.value for e in told.changes("vacuum_lost")] == ["active"]


def test_a_bag_left_under_vacuum_past_the_work_time_is_the_wet_one() -> None:
    told = pumped_dry()
    told.mark("mixed")
    told.wait(WORK_S + 5.0)
    assert told.phases() == ["dry_bag", "working", "waiting"]


def test_marks_said_later_keep_the_time_at_which_they_happened() -> None:
    told = Told()
    told.wait(600.0)
    told.mark("mixed", ago_s=120.0)
    told.mark("bag_closed", ago_s=30.0)
    entered = [(e.phase.value, e.since_s, e.time_s) for e in told.events if type(e) is PhaseEntered]
    assert entered == [("working", 480.0, 600.0), ("drawdown", 570.0, 600.0)]


def test_a_cup_mixed_after_the_kick_is_set_aside() -> None:
    told = Told()
    told.pull_down()
    told.mark("gel_seen")
    told.wait(10.0)
    told.mark("vacuum_released")
    told.mark("mixed")
    # A second cup of the same pour says nothing new; the clock follows the oldest.
    assert answers(told)[-1][:2] == ("mixed", True)
    assert told.monitor.cure.mixed_s == 120.0


def test_a_mark_for_a_job_that_is_over_is_set_aside_with_the_reason() -> None:
    told = Told()
    told.mark("abandoned", note="the form broke")
    told.mark("mixed")
    assert answers(told)[-1] == ("mixed", False, "the job is abandoned")


def test_a_mark_nobody_knows_is_set_aside_with_its_name() -> None:
    told = Told()
    told.mark("lunch")
    assert answers(told) == [("lunch", False, "no mark is called 'lunch'")]


def test_abandoning_needs_its_reason_and_says_so() -> None:
    told = Told()
    told.mark("abandoned", note="  ")
    assert answers(told) == [("abandoned", False, "an abandoned job needs its reason")]
    assert told.phases() == []


def test_a_released_job_closes_itself_twelve_hours_later() -> None:
    told = Told()
    told.pull_down()
    told.mark("gel_seen")
    told.mark("vacuum_released")
    skip(told, 12.0 * 3600.0 - 2.0)
    told.step(Tick(told.now_s + 1.0))
    assert told.phases()[-1] == "released"
    told.step(Tick(told.now_s + 2.0))
    assert told.phases()[-1] == "closed"


def test_a_valve_opened_that_was_never_shut_says_nothing() -> None:
    told = Told()
    told.mark("valve_open")
    assert answers(told) == [("valve_open", True, "")]
    assert len(told.events) == 1
