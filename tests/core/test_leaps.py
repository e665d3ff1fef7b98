"""What a laminate can do in a minute, and what only a couple can."""

from __future__ import annotations

import pytest

from firmware_host.core.leaps import Leaps

BLOCK_S = 5.0


def first_sure_s(rise_k_per_s: float, until_k: float, over_k: float) -> float | None:
    """When a couple that warms at this rate is first given above a level."""
    leaps = Leaps()
    for number in range(400):
        now_s = number * BLOCK_S
        temp_k = min(300.0 + max(now_s - 60.0, 0.0) * rise_k_per_s, until_k)
        sure_k = leaps.sure(now_s, {"part1": temp_k})["part1"]
        if sure_k is not None and sure_k > over_k:
            return now_s
    return None


@pytest.mark.parametrize("rise_k_per_s", [0.05, 0.3, 0.7])
def test_a_laminate_at_its_own_pace_is_not_held_back(rise_k_per_s: float) -> None:
    reached_s = 60.0 + 63.0 / rise_k_per_s
    sure_s = first_sure_s(rise_k_per_s, 380.0, 363.0)
    assert sure_s is not None
    assert sure_s <= reached_s + 2.0 * BLOCK_S


def test_a_couple_that_leaps_is_held_for_a_minute_and_no_longer() -> None:
    sure_s = first_sure_s(1000.0, 380.0, 363.0)
    assert sure_s is not None
    assert 120.0 <= sure_s <= 130.0


def test_a_couple_that_leaps_and_comes_back_was_never_hot() -> None:
    leaps = Leaps()
    shown = [300.0] * 10 + [400.0] * 6 + [300.0] * 20
    given = [leaps.sure(i * BLOCK_S, {"part1": temp})["part1"] for i, temp in enumerate(shown)]
    assert all(temp is None or temp == 300.0 for temp in given)


def test_what_is_hot_when_watching_begins_is_hot() -> None:
    leaps = Leaps()
    assert leaps.sure(0.0, {"part1": None})["part1"] is None
    assert leaps.sure(3600.0, {"part1": 370.0})["part1"] == 370.0
