"""A couple that leaps, and a thick part that runs away, which is none."""

from __future__ import annotations

import math
from collections.abc import Callable

import pytest

from firmware_host.channels.leap import Leap

PEAK_S = 600.0
Course = Callable[[float], float]


def leapt(couple_k: Course, fellows_k: tuple[Course, ...], until_s: int = 1500) -> float | None:
    """When a couple was first seen to stand where it leapt to."""
    leap = Leap()
    for at_s in range(0, until_s, 5):
        fellows = [fellow(at_s) for fellow in fellows_k]
        if leap.since(float(at_s), couple_k(at_s), fellows, judged=True) is not None:
            return float(at_s)
    return None


def runaway(height_k: float, late_s: float = 0.0, slower: float = 1.0) -> Course:
    """Up within a minute, down within some."""

    def course(at_s: float) -> float:
        past_s = at_s - PEAK_S - late_s
        return 330.0 + height_k / (1.0 + (past_s / (slower * (30.0 if past_s < 0 else 90.0))) ** 2)

    return course


def kick(share: float) -> Course:
    """An ordinary kick: 2 K a minute."""
    return lambda at_s: 300.0 + share * at_s / 30.0


def off_by(course: Course, amount_k: float) -> Course:
    return lambda at_s: course(at_s) + (amount_k if at_s >= PEAK_S else 0.0)


@pytest.mark.parametrize("late_s", [30.0, 60.0, 120.0])
def test_a_form_that_goes_on_to_warm_behind_a_runaway_part_leaps_nowhere(late_s: float) -> None:
    form = runaway(45.0, late_s, slower=1.5)
    assert leapt(form, (runaway(60.0), runaway(45.0))) is None


def test_the_hottest_place_of_a_runaway_part_comes_down_and_leaps_nowhere() -> None:
    fellows = (runaway(50.0), runaway(40.0, 60.0, slower=1.5))
    assert leapt(runaway(75.0), fellows) is None


def test_a_couple_that_is_warmed_towards_fellows_at_their_peak_leaps_nowhere() -> None:
    # A reading a minute: a form behind its laminate moves by kelvins from row to row.
    def seldom(at_s: float) -> float:
        row_s = 60.0 * math.floor(at_s / 60.0)
        return 312.0 - 20.0 * math.exp(-max(row_s - 300.0, 0.0) / 240.0)

    def laminate(at_s: float) -> float:
        return 312.0 - 10.0 * math.exp(-at_s / 200.0)

    assert leapt(seldom, (laminate, laminate)) is None


@pytest.mark.parametrize("amount_k", [-8.0, 8.0])
def test_a_leap_is_seen_in_the_calm_and_in_an_ordinary_kick(amount_k: float) -> None:
    flat: Course = lambda at_s: 300.0 + 0.0 * at_s  # noqa: E731 - a constant course
    for course in (flat, kick(1.0)):
        at_s = leapt(off_by(course, amount_k), (course, course))
        assert at_s is not None
        assert abs(at_s - PEAK_S) <= 5.0


def test_a_couple_with_one_fellow_leaps_nowhere() -> None:
    assert leapt(off_by(kick(1.0), 8.0), (kick(1.0),)) is None
