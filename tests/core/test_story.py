"""What the core says of a job, and when, by hand-turned time."""

from __future__ import annotations

import pytest

from firmware_host.model.events import AlarmState, GapSeen, LeakChecked, MarkTaken, Verdict
from firmware_host.model.samples import Acknowledge, Frame, Input, Mark, Tick, Unseen
from tests.core.story import DEEP_PA, JOB, ROOM_PA, Told


def test_a_job_goes_through_its_phases_by_marks_and_by_what_is_measured() -> None:
    told = Told()
    told.pull_down()
    told.mark("gel_seen")
    told.wait(10.0)
    told.mark("vacuum_released")
    told.mark("demoulded")
    assert told.phases() == ["working", "drawdown", "waiting", "kicked", "released", "closed"]


def test_vacuum_lost_is_raised_two_readings_after_the_hose_comes_off() -> None:
    told = Told()
    told.pull_down()
    lost_s = told.now_s + 1.0
    told.bag_pa = 90_000.0
    told.wait(3.0)
    (raised,) = told.raised("vacuum_lost")
    assert raised.raised_s == lost_s
    assert raised.time_s <= lost_s + 3.0


def test_a_single_wild_reading_is_no_loss_of_vacuum() -> None:
    told = Told()
    told.pull_down()
    told.bag_pa = 90_000.0
    told.wait(1.0)
    told.bag_pa = DEEP_PA
    told.wait(30.0)
    assert told.raised("vacuum_lost") == []


def test_a_gauge_that_dies_neither_raises_nor_clears_a_loss() -> None:
    told = Told()
    told.pull_down()
    told.bag_pa = 90_000.0
    told.wait(5.0)
    told.bag_pa = None
    told.wait(60.0)
    assert [e.state for e in told.changes("vacuum_lost")] == [AlarmState.ACTIVE]
    assert len(told.raised("sensor_fault")) == 1


def test_a_loss_that_is_mended_returns_and_waits_to_be_seen() -> None:
    told = Told()
    told.pull_down()
    told.bag_pa = 90_000.0
    told.wait(5.0)
    told.bag_pa = DEEP_PA
    told.wait(20.0)
    assert [e.state for e in told.changes("vacuum_lost")] == [
        AlarmState.ACTIVE,
        AlarmState.RETURNED,
    ]
    told.step(Acknowledge(told.now_s, told.raised("vacuum_lost")[0].id, "panel"))
    assert told.changes("vacuum_lost")[-1].state is AlarmState.CLEAR


def test_acknowledging_never_clears_an_alarm_whose_cause_holds() -> None:
    told = Told()
    told.pull_down()
    told.bag_pa = 90_000.0
    told.wait(5.0)
    told.step(Acknowledge(told.now_s, told.raised("vacuum_lost")[0].id, "panel"))
    assert told.changes("vacuum_lost")[-1].state is AlarmState.ACKNOWLEDGED
    assert told.monitor.view().alarms[0].name == "vacuum_lost"


def test_a_release_after_the_kick_waits_a_minute_for_its_mark() -> None:
    told = Told()
    told.pull_down()
    told.mark("gel_seen")
    told.wait(2000.0)
    told.bag_pa = ROOM_PA
    told.wait(40.0)
    told.mark("vacuum_released", ago_s=20.0)
    told.wait(120.0)
    assert told.raised("vacuum_lost") == []


def test_a_loss_after_the_kick_without_a_mark_is_raised_with_the_time_it_began() -> None:
    told = Told()
    told.pull_down()
    told.mark("gel_seen")
    told.wait(2000.0)
    told.bag_pa = ROOM_PA
    lost_s = told.now_s + 1.0
    told.wait(90.0)
    (raised,) = told.raised("vacuum_lost")
    assert raised.raised_s == lost_s
    assert raised.time_s == pytest.approx(lost_s + 60.0, abs=2.0)


def test_a_cold_shell_is_called_late_at_the_latest_time_and_only_once() -> None:
    told = Told()
    told.part_k = told.shop_k = 283.15
    told.pull_down()
    told.wait(4000.0)
    (raised,) = told.raised("exotherm_late")
    assert raised.time_s == pytest.approx(120.0 + 3600.0, abs=2.0)


def test_gel_seen_takes_the_late_alarm_back() -> None:
    told = Told()
    told.part_k = told.shop_k = 283.15
    told.pull_down()
    told.wait(3700.0)
    told.mark("gel_seen")
    told.wait(10.0)
    assert [e.state for e in told.changes("exotherm_late")] == [
        AlarmState.ACTIVE,
        AlarmState.RETURNED,
    ]


def test_a_hot_laminate_is_called_and_a_single_hot_reading_is_not() -> None:
    told = Told()
    told.pull_down()
    told.part_k = 293.15 + 80.0
    told.wait(1.0)
    told.part_k = 293.15
    told.wait(60.0)
    assert told.raised("over_temperature") == []
    for _ in range(90):
        told.part_k += 0.5
        told.wait(5.0)
    assert len(told.raised("over_temperature")) == 1


def test_blank_comes_after_three_periods_and_the_fault_after_ten() -> None:
    told = Told()
    told.wait(30.0)
    told.part_k = None
    told.wait(3.0)
    assert told.monitor.view().channels[1].value is not None
    told.wait(1.0)
    assert told.monitor.view().channels[1].value is None
    told.wait(6.0)
    assert told.raised("sensor_fault") == []
    told.wait(1.0)
    (raised,) = told.raised("sensor_fault")
    assert (raised.channel, raised.raised_s) == ("part1", 30.0)


def test_a_tight_bag_and_a_hole_are_told_apart() -> None:
    verdicts = []
    for rise in (0.3, 40.0):
        told = Told()
        told.pull_down()
        told.mark("valve_shut")
        for second in range(300):
            told.bag_pa = DEEP_PA + rise * second + 15.0 * ((second * 7919) % 5 - 2)
            told.wait(1.0)
        told.mark("valve_open")
        final = [e for e in told.events if isinstance(e, LeakChecked) and e.final]
        verdicts.append(final[-1].verdict)
    assert verdicts == [Verdict.TIGHT, Verdict.LEAKING]


def test_a_leaking_test_alarms_once() -> None:
    told = Told()
    told.pull_down()
    told.mark("valve_shut")
    for second in range(300):
        told.bag_pa = DEEP_PA + 60.0 * second + 15.0 * ((second * 7919) % 5 - 2)
        if told.bag_pa > 14_000.0:
            break
        told.wait(1.0)
    told.mark("valve_open")
    assert len(told.raised("bag_leaking")) == 1


def test_time_that_nobody_watched_is_a_gap_and_no_fault() -> None:
    told = Told()
    told.pull_down()
    told.now_s += 7200.0
    told.step(Unseen(told.now_s, told.now_s - 7200.0, "the board was off"))
    told.frame()
    told.wait(5.0)
    assert told.raised("sensor_fault") == []
    assert [e.why for e in told.events if isinstance(e, GapSeen)] == ["the board was off"]
    assert told.monitor.view().unseen_s == 7200.0


def test_ticks_between_the_frames_change_nothing() -> None:
    plain, ticked = Told(), Told()
    for told in (plain, ticked):
        told.pull_down()
    for second in range(400):
        for told in (plain, ticked):
            told.bag_pa = None if second % 40 > 25 else DEEP_PA
            told.wait(1.0)
        ticked.step(Tick(ticked.now_s + 0.4))
    assert plain.events == ticked.events


def test_the_same_inputs_give_the_same_events() -> None:
    first, second = Told(), Told()
    for told in (first, second):
        told.pull_down()
        told.part_k = 300.0
        told.wait(900.0)
    assert first.events == second.events


def test_a_mark_is_answered_also_when_it_is_set_aside() -> None:
    told = Told()
    told.wait(5.0)
    told.mark("demoulded")
    told.mark("abandoned")
    told.mark("abandoned", note="the form broke")
    said = [(e.name, e.taken) for e in told.events if isinstance(e, MarkTaken)]
    assert said == [("demoulded", False), ("abandoned", False), ("abandoned", True)]
    assert told.phases()[-1] == "abandoned"


def test_a_second_cup_does_not_move_the_clock() -> None:
    told = Told()
    told.pull_down()
    told.mark("mixed")
    assert told.monitor.view().mixed_s == 120.0


def test_a_mark_of_the_past_is_followed_from_then_on() -> None:
    told = Told()
    told.wait(600.0)
    told.mark("mixed", ago_s=300.0)
    told.wait(70.0)
    view = told.monitor.view()
    assert view.mixed_s == 300.0
    assert view.cure is not None
    assert view.cure.gel_s is not None
    assert view.cure.gel_s > 300.0


def test_conversion_is_not_shown_before_the_gel() -> None:
    told = Told()
    told.pull_down()
    cure = told.monitor.view().cure
    assert cure is not None
    assert cure.conversion is None


def test_without_any_channel_the_work_clock_runs() -> None:
    told = Told(JOB)
    bare: list[Input] = [Mark(5.0, "mixed", 5.0), Tick(20.0), Mark(30.0, "bag_closed", 30.0)]
    for given in bare:
        told.step(given)
    assert told.phases() == ["working", "drawdown"]


def test_an_old_frame_after_a_tick_is_taken_without_turning_time_back() -> None:
    told = Told()
    told.wait(10.0)
    told.step(Tick(20.0))
    told.step(Frame(12.0, 0, (ROOM_PA, 293.0, 293.0), (None, None, None)))
    assert told.monitor.view().time_s == 20.0
