"""How often a group speaks: stated, or learnt."""

from __future__ import annotations

import pytest

from firmware_host.config.load import parse_job
from firmware_host.core.monitor import Monitor
from firmware_host.core.pace import LEARN_FROM, UNTIL_LEARNT_S, Pace
from firmware_host.model.channels import channel_named
from firmware_host.model.events import Event, SensorFaultChanged
from firmware_host.model.samples import Frame, Group, Reason
from tests.core.story import JOB


def paced(intervals: list[float]) -> Pace:
    pace, now_s = Pace(None), 100.0
    pace.take(now_s)
    for interval in intervals:
        now_s += interval
        pace.take(now_s)
    return pace


def test_a_stated_period_is_kept_whatever_comes() -> None:
    pace = Pace(0.5)
    for at_s in (0.0, 9.0, 18.0, 27.0):
        pace.take(at_s)
    assert pace.period_s == 0.5


def test_until_three_intervals_were_seen_nothing_is_late() -> None:
    assert paced([0.5, 0.5]).period_s == UNTIL_LEARNT_S
    assert paced([0.5, 0.5, 0.5]).period_s == pytest.approx(0.5)


def test_the_median_forgives_a_gap_while_learning() -> None:
    assert paced([1.0, 1.0, 900.0, 1.0, 1.0]).period_s == pytest.approx(1.0)


def test_learning_ends_so_that_a_slow_death_is_not_learnt() -> None:
    pace = paced([1.0] * LEARN_FROM + [60.0] * 100)
    assert pace.period_s == pytest.approx(1.0)


def test_two_frames_of_one_moment_teach_nothing() -> None:
    assert paced([0.0] * 10).period_s == UNTIL_LEARNT_S


def slow_log(rows: int, row_s: float, *, blank: str = "") -> list[Event]:
    """What is said of channels in a log that does not state its period."""
    names = ("bag", "part1", "shop")
    group = Group("log", tuple(channel_named(name) for name in names), None)
    monitor = Monitor(parse_job(JOB, "job.toml"), (group,))
    values = {"bag": 101_300.0, "part1": 293.15, "shop": 293.15} | ({blank: None} if blank else {})
    said: list[Event] = []
    for row in range(rows):
        cells = tuple(values[name] for name in names)
        reasons = tuple(Reason.NOT_READ if cell is None else None for cell in cells)
        said += monitor.step(Frame(row * row_s, 0, cells, reasons))
    return [event for event in said if isinstance(event, SensorFaultChanged)]


@pytest.mark.parametrize("row_s", [0.5, 2.0, 20.0, 60.0, 300.0])
def test_a_log_is_not_silent_before_its_second_row_can_come(row_s: float) -> None:
    assert slow_log(14, row_s) == []


@pytest.mark.parametrize("row_s", [0.5, 2.0, 60.0])
def test_a_blank_column_is_silent_after_ten_rows_once_the_pace_is_known(row_s: float) -> None:
    (fault,) = slow_log(30, row_s, blank="part1")
    assert isinstance(fault, SensorFaultChanged)
    assert (fault.channel, fault.kind, fault.start_s) == ("part1", "silent", 0.0)
    late_s = fault.time_s - max(10.0 * row_s, 5.0)
    assert 0.0 < late_s <= 1.0
