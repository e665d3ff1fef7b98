"""Zeroing couples against each other before the pour."""

from __future__ import annotations

import pytest

from firmware_host.core.thermal_history import BLOCK_S, LEAST_ZERO_BLOCKS, ThermalHistory
from firmware_host.model.channels import Role

ROLES = (Role.PART, Role.MOULD, Role.SHOP)
MIXED_S = 600.0


def seen(
    *, blocks: int, temps_k: tuple[float | None, ...], end_s: float = MIXED_S
) -> ThermalHistory:
    history = ThermalHistory(ROLES)
    for number in range(blocks):
        history.add(end_s - (blocks - 1 - number) * BLOCK_S, temps_k)
    return history


def test_couples_are_zeroed_against_their_mean_before_the_pour() -> None:
    history = seen(blocks=60, temps_k=(294.0, 293.0, 292.0))
    assert history.zeros(MIXED_S, MIXED_S) == pytest.approx((1.0, 0.0, -1.0))


@pytest.mark.parametrize(
    ("blocks", "known"), [(LEAST_ZERO_BLOCKS - 1, False), (LEAST_ZERO_BLOCKS, True)]
)
def test_a_minute_before_the_pour_is_enough_and_less_is_not(blocks: int, *, known: bool) -> None:
    history = seen(blocks=blocks, temps_k=(294.0, 293.0, 292.0))
    assert (history.zeros(MIXED_S, MIXED_S) is not None) is known


@pytest.mark.parametrize(("blocks", "known"), [(3, False), (4, True)])
def test_a_log_of_a_row_a_minute_is_zeroed_by_four_of_them(blocks: int, *, known: bool) -> None:
    history = ThermalHistory(ROLES)
    for number in range(blocks):
        history.add(MIXED_S - (blocks - 1 - number) * 60.0, (294.0, 293.0, 292.0))
    zeros = history.zeros(MIXED_S, MIXED_S)
    assert zeros == (pytest.approx((1.0, 0.0, -1.0)) if known else None)


def test_where_watching_began_at_the_pour_five_minutes_after_it_serve() -> None:
    history = seen(blocks=55, temps_k=(294.0, 293.0, 292.0), end_s=MIXED_S + 300.0)
    assert history.zeros(MIXED_S, MIXED_S + 299.0) is None
    assert history.zeros(MIXED_S, MIXED_S + 300.0) == pytest.approx((1.0, 0.0, -1.0))


def test_a_couple_far_off_is_not_zeroed_away() -> None:
    zeros = seen(blocks=60, temps_k=(303.0, 293.0, 293.0)).zeros(MIXED_S, MIXED_S)
    assert zeros is not None
    assert zeros[0] == 0.0


def test_a_couple_that_was_not_read_has_no_zero() -> None:
    zeros = seen(blocks=60, temps_k=(None, 294.0, 292.0)).zeros(MIXED_S, MIXED_S)
    assert zeros == pytest.approx((0.0, 1.0, -1.0))


def test_blocks_after_a_moment_exclude_the_moment() -> None:
    history = seen(blocks=3, temps_k=(294.0, 293.0, 292.0))
    assert [block.time_s for block in history.since(MIXED_S - BLOCK_S)] == [MIXED_S]
