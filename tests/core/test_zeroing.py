"""The first minutes: what is held against what, and what is said of it."""

from __future__ import annotations

import random

import pytest

from firmware_host.config.load import parse_job
from firmware_host.core.monitor import Monitor
from firmware_host.model.channels import channel_named
from firmware_host.model.events import ChannelLearnt, SensorFaultChanged, ZeroFound
from firmware_host.model.samples import Frame, Group
from tests.core.story import JOB

NAMES = ("bag", "pump", "part1", "part2", "shop", "barometer")
LEVEL = {"bag": 94_100.0, "pump": 93_900.0, "barometer": 93_800.0}
TEMPS = {"part1": 293.4, "part2": 292.8, "shop": 293.1}


def begun(
    job: str = JOB, without: tuple[str, ...] = (), seconds: int = 300, **shown: float
) -> tuple[list[ZeroFound], Monitor]:
    names = tuple(name for name in NAMES if name not in without)
    monitor = Monitor(
        parse_job(job, "job.toml"),
        (Group("bench", tuple(channel_named(name) for name in names), 1.0),),
    )
    values = tuple((LEVEL | TEMPS | shown)[name] for name in names)
    events = []
    for second in range(seconds):
        events += monitor.step(Frame(float(second), 0, values, (None,) * len(names)))
    assert not [event for event in events if isinstance(event, SensorFaultChanged)]
    return [event for event in events if isinstance(event, ZeroFound)], monitor


def typed(hpa: float) -> str:
    return JOB + f"[conditions]\nstation_pressure_hpa = {hpa}\n"


def test_gauges_are_held_against_the_barometer() -> None:
    zeros, monitor = begun()
    told = {zero.channel: zero for zero in zeros}
    assert told["bag"].offset == pytest.approx(300.0)
    assert told["pump"].offset == pytest.approx(100.0)
    assert told["bag"].against == "barometer"
    assert told["bag"].text == "bag reads 3 hPa above the barometer."
    assert not told["bag"].taken_off, "how much of it is left at vacuum nobody knows"
    assert monitor.doubts == ()


def test_couples_are_zeroed_against_each_other() -> None:
    zeros, _ = begun()
    told = {zero.channel: zero.offset for zero in zeros if zero.against == "couples"}
    assert told == {
        "part1": pytest.approx(0.3),
        "part2": pytest.approx(-0.3),
        "shop": pytest.approx(0.0),
    }


def test_each_zero_is_said_once() -> None:
    zeros, _ = begun(seconds=1200)
    assert sorted(zero.channel for zero in zeros) == ["bag", "part1", "part2", "pump", "shop"]


def test_the_barometer_itself_is_held_against_what_was_typed() -> None:
    zeros, monitor = begun(typed(938.0))
    told = {zero.channel: zero for zero in zeros}
    assert told["barometer"].against == "typed"
    assert monitor.doubts == ()


def test_a_sea_level_figure_typed_at_altitude_is_questioned() -> None:
    zeros, monitor = begun(typed(1016.0), without=("barometer",))
    told = {zero.channel: zero for zero in zeros}
    assert not told["bag"].sound
    assert "is 1016 hPa a sea-level figure? At the bench it should be near 941 hPa" in (
        told["bag"].text
    )
    assert monitor.doubts[0] == told["bag"].text
    assert monitor.view().doubts == monitor.doubts


def test_a_true_station_pressure_is_not_questioned() -> None:
    zeros, monitor = begun(typed(940.0), without=("barometer",))
    assert {zero.channel for zero in zeros if zero.against == "typed"} == {"bag", "pump"}
    assert monitor.doubts == ()


def test_a_gauge_far_from_the_room_is_in_question() -> None:
    _, monitor = begun(bag=99_500.0)
    (doubt,) = monitor.doubts
    assert doubt == "bag reads 57 hPa above the barometer, too far for a zero: check the gauge."


def test_without_anything_to_hold_it_against_nothing_is_said() -> None:
    zeros, _ = begun(without=("barometer",))
    assert {zero.against for zero in zeros} == {"couples"}


def test_a_bag_that_is_pumped_already_tells_no_zero() -> None:
    zeros, _ = begun(bag=4000.0)
    assert "bag" not in {zero.channel for zero in zeros}


def test_a_couple_far_from_the_others_is_in_question_and_not_taken_for_a_zero() -> None:
    zeros, monitor = begun(part1=299.0)
    told = {zero.channel: zero for zero in zeros}
    assert not told["part1"].sound
    assert not told["part1"].taken_off
    assert "too far for a zero" in monitor.doubts[0]


def test_what_a_channel_is_like_is_told_once_enough_was_read() -> None:
    _, monitor = begun(seconds=2)
    rng = random.Random(5)
    told: list[ChannelLearnt] = []
    for second in range(2, 1300):
        lively = [level + rng.gauss(0.0, 20.0) for level in (94_100.0, 93_900.0)]
        couples = [293.0 + rng.gauss(0.0, 0.1), 293.0, 293.0]
        frame = Frame(float(second), 0, (*lively, *couples, 93_800.0), (None,) * 6)
        told += [e for e in monitor.step(frame) if isinstance(e, ChannelLearnt)]
    learnt = {one.channel: one for one in told}
    assert len(told) == len(NAMES)
    assert learnt["bag"].noise == pytest.approx(20.0, rel=0.3)
    assert learnt["part1"].noise == pytest.approx(0.1, rel=0.3)
    assert learnt["bag"].tells_stuck
    assert not learnt["part2"].tells_stuck, "it never moved: stuck or still, nobody can tell"
