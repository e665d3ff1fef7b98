"""Readings that break off, jump in time, or come from another couple: wider, and never wrong."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from firmware_host.model.events import CureEstimated, CureState
from tests.cure.unlike import Array
from tests.cure.unlike_jobs import BEFORE_S, Draw, Story, follow, story, watched
from tests.cure.unlike_scores import Score, score

pytestmark = pytest.mark.campaign

DRAW = Draw(couples=("part1", "part2", "mould", "shop"), every_s=30.0, until_gels=1.5)
SEED = [31, 1]


@pytest.fixture(scope="module")
def whole() -> Story:
    return story(DRAW, "kamal", SEED)


@pytest.fixture(scope="module")
def unbroken(whole: Story) -> Score:
    return scored(whole)[0]


def scored(told: Story) -> tuple[Score, tuple[CureState, ...]]:
    _, said, states = watched(told)
    return score(told, said), states


def since_gel(told: Story) -> Array:
    """Time of each row, counted from the true gel."""
    return np.asarray(told.rows[:, 0] - BEFORE_S - told.course.gel_s)


def holds(found: Score) -> bool:
    return found.gel_held and float(np.mean(found.conversion_held)) >= 0.9


def test_an_hour_without_rows_across_the_gel(whole: Story, unbroken: Score) -> None:
    at_s = since_gel(whole)
    rows = whole.rows[(at_s < -1500.0) | (at_s > 2100.0)]
    told = replace(whole, rows=rows)
    _, said, _ = watched(told)
    found = score(told, said)
    assert holds(found)
    assert found.gel_width > unbroken.gel_width
    at_s = np.array([event.time_s for event in said if isinstance(event, CureEstimated)])
    assert np.all(np.diff(at_s) > 0.0)
    assert np.max(np.diff(at_s)) <= 60.0


@pytest.mark.parametrize("far_s", [600.0, 1500.0])
def test_a_gap_past_the_latest_gel_calls_nobody_for_a_part_that_kicked_in_it(
    whole: Story, far_s: float
) -> None:
    """The first row after a gap is answered by what it shows, not by what was known before it."""
    at_s = since_gel(whole)
    latest_min = (whole.course.gel_s + 300.0) / 60.0
    told = replace(
        whole,
        job=replace(whole.job, limits=replace(whole.job.limits, latest_gel_min=latest_min)),
        rows=whole.rows[(at_s < -900.0) | (at_s > far_s)],
    )
    heard = follow(told)
    assert "exotherm_late" not in heard.alarms
    assert not heard.monitor.cure.kicked_late


def test_both_couples_on_the_part_lost_across_the_gel(whole: Story, unbroken: Score) -> None:
    at_s = since_gel(whole)
    rows = whole.rows.copy()
    rows[(at_s > -1500.0) & (at_s < 2100.0), 1:3] = np.nan
    found, states = scored(replace(whole, rows=rows))
    assert holds(found)
    assert found.gel_width > unbroken.gel_width
    assert CureState.DOUBTED in states


def test_every_couple_lost_across_the_gel(whole: Story, unbroken: Score) -> None:
    at_s = since_gel(whole)
    rows = whole.rows.copy()
    rows[(at_s > -1500.0) & (at_s < 2100.0), 1:] = np.nan
    found, states = scored(replace(whole, rows=rows))
    assert holds(found)
    assert found.gel_width > unbroken.gel_width
    assert CureState.DOUBTED in states


@pytest.mark.parametrize("from_s", [-1500.0, -1e9])
def test_a_shop_that_is_not_measured_any_more_or_never_was(whole: Story, from_s: float) -> None:
    """The room is as warm as it last was, or as the bench was before the pour: less surely."""
    rows = whole.rows.copy()
    rows[since_gel(whole) > from_s, 4] = np.nan
    told = replace(whole, rows=rows)
    watch, said, states = watched(told)
    found = score(told, said)
    assert found.gel_held
    assert abs(found.gel_error) <= 0.10
    assert float(np.mean(found.conversion_held)) >= 0.9
    assert CureState.COOLING in states
    assert any("shop is not measured" in words for words in watch.story.why)


def test_a_couple_replaced_by_one_that_is_off_and_sits_worse(whole: Story) -> None:
    at_s = since_gel(whole)
    rows = whole.rows.copy()
    rows[(at_s > -300.0) & (at_s < 0.0), 1] = np.nan
    later = at_s >= 0.0
    shop = rows[later, 4]
    rows[later, 1] = shop + 0.85 * (rows[later, 1] - shop) + 0.7
    assert holds(scored(replace(whole, rows=rows))[0])


@pytest.mark.parametrize("off_k", [-3.5, 2.5])
def test_the_only_couple_replaced_by_one_with_another_zero(off_k: float) -> None:
    """It comes back colder than the room, or as warm as a kick: its zero is taken as unknown."""
    told = story(replace(DRAW, couples=("part1", "shop")), "kamal", SEED)
    at_s = since_gel(told)
    rows = told.rows.copy()
    rows[(at_s > -600.0) & (at_s < 0.0), 1] = np.nan
    rows[at_s >= 0.0, 1] += off_k
    changed = replace(told, rows=rows)
    watch, said, states = watched(changed)
    found = score(changed, said)
    assert holds(found)
    assert abs(found.gel_error) <= 0.15
    assert found.gel_width > scored(told)[0].gel_width
    assert CureState.NO_KICK not in states
    assert any("its zero may be off" in words for words in watch.story.why)


def test_a_clock_that_steps_ten_minutes_ahead_before_the_gel(whole: Story) -> None:
    """The log's own time then has a gap in which nothing happened."""
    at_s = since_gel(whole)
    rows = whole.rows.copy()
    rows[at_s > -1200.0, 0] += 600.0
    course = whole.course
    stepped = replace(
        course,
        gel_s=course.gel_s + 600.0,
        time_s=np.where(
            course.time_s > course.gel_s - 1200.0, course.time_s + 600.0, course.time_s
        ),
    )
    found, _ = scored(replace(whole, rows=rows, course=stepped))
    assert found.gel_held
    assert abs(found.gel_error) <= 0.15
