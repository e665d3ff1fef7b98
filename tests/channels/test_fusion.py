"""One laminate out of its couples, checked by hand."""

from __future__ import annotations

import math

import pytest

from firmware_host.channels.fusion import fuse

PLACE = math.hypot(0.25 / math.sqrt(12.0), 0.10)
"""Bead factor evenly between 0.75 and 1, and a tenth of the rise from place to place."""
ZERO_K = 0.2


def test_one_couple_is_as_sure_as_its_place_allows() -> None:
    joined = fuse([314.0], [1.0], 294.0)
    assert joined is not None
    assert joined.mean_k == 314.0
    assert joined.sd_k == pytest.approx(math.hypot(PLACE * 20.0, ZERO_K), rel=1e-3)


def test_four_couples_that_agree_halve_the_doubt_of_one() -> None:
    one, four = fuse([314.0], [1.0], 294.0), fuse([314.0] * 4, [1.0] * 4, 294.0)
    assert one is not None
    assert four is not None
    assert math.sqrt(four.sd_k**2 - ZERO_K**2) == pytest.approx(
        math.sqrt(one.sd_k**2 - ZERO_K**2) / 2.0
    )


def test_couples_that_disagree_widen_the_answer() -> None:
    apart = fuse([304.0, 324.0], [1.0, 1.0], 294.0)
    assert apart is not None
    assert apart.sd_k == pytest.approx(math.hypot(10.0 / math.sqrt(2.0), ZERO_K))


def test_a_doubtful_couple_moves_the_mean_by_a_fifth_of_the_difference() -> None:
    joined = fuse([300.0, 310.0], [1.0, 0.25], 294.0)
    assert joined is not None
    assert joined.mean_k == pytest.approx(302.0)
    assert (joined.hottest_k, joined.hottest) == (310.0, 1)


def test_what_is_not_believed_counts_for_nothing() -> None:
    joined = fuse([300.0, None, 380.0], [1.0, 1.0, 0.0], 294.0)
    assert joined is not None
    assert (joined.mean_k, joined.hottest_k, joined.hottest) == (300.0, 300.0, 0)


def test_without_a_believed_couple_there_is_no_laminate() -> None:
    assert fuse([None, 300.0], [1.0, 0.0], 294.0) is None


def test_without_a_room_the_rise_is_taken_for_ten_kelvins() -> None:
    joined = fuse([314.0], [1.0], None)
    assert joined is not None
    assert joined.sd_k == pytest.approx(math.hypot(PLACE * 10.0, ZERO_K), rel=1e-3)
