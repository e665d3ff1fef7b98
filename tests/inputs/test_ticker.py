"""When silence is told."""

from __future__ import annotations

import pytest

from firmware_host.clock import ManualClock, ScaledClock
from firmware_host.inputs.ticker import Ticker
from firmware_host.inputs.timeline import Timeline
from firmware_host.model.samples import Group


def ticker(*periods_s: float | None) -> Ticker:
    groups = [Group(f"port{n}", (), period_s) for n, period_s in enumerate(periods_s)]
    return Ticker(Timeline(ManualClock(), 0.0), groups)


@pytest.mark.parametrize(
    ("periods_s", "quiet_s"),
    [
        ((), 1.0),
        ((None,), 1.0),
        ((0.1,), 1.0),
        ((0.5,), 1.5),
        ((0.5, 60.0), 1.5),
        ((60.0,), 4.0),
    ],
)
def test_the_first_tick_comes_after_three_periods_between_one_and_four_seconds(
    periods_s: tuple[float | None, ...], quiet_s: float
) -> None:
    quiet = ticker(*periods_s)
    quiet.heard(100.0)
    assert not quiet.is_due(100.0 + quiet_s - 0.001)
    assert quiet.is_due(100.0 + quiet_s)


def test_further_ticks_come_a_second_apart() -> None:
    quiet = ticker(0.5)
    assert quiet.is_due(1.5)
    assert not quiet.is_due(2.499)
    assert quiet.is_due(2.5)


def test_a_frame_ends_the_silence() -> None:
    quiet = ticker(0.5)
    assert quiet.is_due(1.5)
    quiet.heard(1.6)
    assert not quiet.is_due(3.0)
    assert quiet.is_due(3.1)


def test_a_fast_clock_leaves_the_real_world_two_seconds() -> None:
    timeline = Timeline(ScaledClock(60.0), 0.0)
    quiet = Ticker(timeline, [Group("board", (), 0.5)])
    now_s = timeline.now_s()
    quiet.heard(now_s)
    assert not quiet.is_due(now_s + 119.0)
    assert quiet.is_due(now_s + 121.0)
    assert not quiet.is_due(now_s + 150.0)
    assert quiet.is_due(now_s + 151.5)
