"""How often a group speaks: stated, or learnt."""

from __future__ import annotations

import pytest

from firmware_host.core.pace import LEARN_FROM, UNTIL_LEARNT_S, Pace


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


def test_until_three_intervals_were_seen_two_seconds_are_assumed() -> None:
    assert paced([0.5, 0.5]).period_s == UNTIL_LEARNT_S
    assert paced([0.5, 0.5, 0.5]).period_s == pytest.approx(0.5)


def test_the_median_forgives_a_gap_while_learning() -> None:
    assert paced([1.0, 1.0, 900.0, 1.0, 1.0]).period_s == pytest.approx(1.0)


def test_learning_ends_so_that_a_slow_death_is_not_learnt() -> None:
    pace = paced([1.0] * LEARN_FROM + [60.0] * 100)
    assert pace.period_s == pytest.approx(1.0)


def test_two_frames_of_one_moment_teach_nothing() -> None:
    assert paced([0.0] * 10).period_s == UNTIL_LEARNT_S
