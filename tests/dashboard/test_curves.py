"""The trends as curves and as characters."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from dashboard.curves import bag_curve, laminate_curve
from dashboard.plot import drawn
from firmware_host.model.trend import Trend
from tests.dashboard.parts import SNAPSHOT, TREND, snapshot

EMPTY = Trend(step_s=10.0, time_s=(), bag_pa=(), laminate_k=(), shop_k=())


def test_the_bag_is_drawn_on_a_logarithmic_scale_with_its_limit() -> None:
    curve = bag_curve(SNAPSHOT, TREND)
    assert curve.title == "bag, mbar, wanted below 150"
    assert curve.wanted_below == pytest.approx(math.log10(150.0))
    (segment,) = curve.segments
    assert [time_s for time_s, _ in segment] == [10.0, 20.0, 30.0, 40.0, 50.0, 60.0]
    assert segment[0][1] == pytest.approx(3.0)
    assert segment[3][1] == pytest.approx(math.log10(50.0))
    assert [text for _, text in curve.labels] == ["10", "150", "1000"]
    assert [text for _, text in curve.time_labels] == ["08:00", "08:00", "08:01"]


def test_a_limit_far_above_the_laminate_is_in_the_title_only() -> None:
    curve = laminate_curve(SNAPSHOT, TREND)
    assert curve.wanted_below is None
    assert curve.title == "laminate, C, wanted below 90"
    assert (curve.low, curve.high) == (20.0, 24.0)


def test_a_limit_near_the_laminate_is_drawn() -> None:
    curve = laminate_curve(snapshot(highest_temperature_k=297.15), TREND)
    assert curve.wanted_below == pytest.approx(24.0)
    assert curve.high == pytest.approx(25.0)


def test_nothing_is_drawn_across_a_gap_or_where_nothing_was_known() -> None:
    gap = replace(
        TREND,
        time_s=(10.0, 20.0, 60.0, 70.0, 80.0, 90.0),
        laminate_k=(293.15, 293.15, 293.15, None, 293.15, 293.15),
    )
    curve = laminate_curve(SNAPSHOT, gap)
    assert [[time_s for time_s, _ in part] for part in curve.segments] == [
        [10.0, 20.0],
        [60.0],
        [80.0, 90.0],
    ]


def test_a_job_without_points_says_that_nothing_was_measured() -> None:
    for curve in (bag_curve(SNAPSHOT, EMPTY), laminate_curve(SNAPSHOT, EMPTY)):
        assert drawn(curve, 40, 8) == (f" {curve.title}", "   nothing measured yet")


def test_a_vacuum_of_nothing_has_a_place_on_the_scale() -> None:
    zero = replace(TREND, bag_pa=(0.0,) * 6)
    assert bag_curve(SNAPSHOT, zero).segments[0][0] == (10.0, 0.0)


def test_the_picture_in_seven_bit_characters() -> None:
    assert drawn(bag_curve(SNAPSHOT, TREND), 40, 8, ascii_only=True) == (
        " bag, mbar, wanted below 150",
        "1000|      ######",
        "    |            ######",
        " 150|------------------###--------------",
        "    |                     ##############",
        "  10|",
        "    ++----------------+----------------+",
        "   08:00            08:00         08:01",
    )


@pytest.mark.parametrize("cells", [0, 10, 19, 20, 40, 79, 200])
@pytest.mark.parametrize("rows", [0, 1, 3, 4, 8, 40])
def test_a_picture_stays_in_its_place_and_is_never_braille(cells: int, rows: int) -> None:
    for row in drawn(bag_curve(SNAPSHOT, TREND), cells, rows):
        assert len(row) <= cells
        assert not any(0x2800 <= ord(character) <= 0x28FF for character in row)
