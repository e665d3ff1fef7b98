from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from hardware.two_points import (
    Line,
    Point,
    corrected_transducer,
    line_through,
    volume_from_gulp_l,
)


def read_pa(fraction: float, zero: float, full_scale_pa: float) -> float:
    return (fraction - zero) * full_scale_pa / 0.8


@given(st.floats(0.09, 0.11), st.floats(95000.0, 105000.0))
def test_a_corrected_transducer_reads_true_at_both_points_and_between(
    true_zero: float, true_full_scale_pa: float
) -> None:
    def point(fraction: float) -> Point:
        return Point(
            read_pa(fraction, 0.10, 100000.0), read_pa(fraction, true_zero, true_full_scale_pa)
        )

    line = line_through(point(0.15), point(0.88), 100000.0)
    zero, full_scale_pa = corrected_transducer(line, 0.10, 0.80, 100000.0)
    for fraction in (0.15, 0.5, 0.88):
        assert read_pa(fraction, zero, full_scale_pa) == pytest.approx(
            read_pa(fraction, true_zero, true_full_scale_pa), abs=0.01
        )


def test_a_shift_of_the_zero_alone_leaves_the_slope() -> None:
    line = line_through(Point(1000.0, 0.0), Point(101000.0, 100000.0), 100000.0)
    assert line == Line(1.0, -1000.0)
    assert corrected_transducer(line, 0.1, 0.8, 100000.0) == pytest.approx((0.108, 100000.0))


@pytest.mark.parametrize(
    ("one", "other", "message"),
    [
        (Point(0.0, 0.0), Point(19999.0, 19999.0), "the two points are 200 mbar apart"),
        (Point(5000.0, 0.0), Point(5000.0, 100000.0), "the two points are 1000 mbar apart"),
        (Point(0.0, 0.0), Point(100000.0, 121000.0), r"would change 1.210 times \(at most 1.2\)"),
        (Point(11000.0, 0.0), Point(111000.0, 100000.0), "the zero would move by -110 mbar"),
    ],
)
def test_points_that_give_no_line_of_a_transducer_are_refused(
    one: Point, other: Point, message: str
) -> None:
    with pytest.raises(ValueError, match=message):
        line_through(one, other, 100000.0)


def test_a_gulp_of_60_ml_into_3_litres_raises_20_mbar() -> None:
    # By hand: 1000 mbar * 0.060 l / 3.0 l = 20 mbar.
    assert volume_from_gulp_l(100000.0, 5000.0, 7000.0, 0.060) == pytest.approx(3.0)
    with pytest.raises(ValueError, match="must rise"):
        volume_from_gulp_l(100000.0, 5000.0, 5000.0, 0.060)
