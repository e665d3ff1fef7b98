"""A log with a row a minute: twelve blocks of five seconds hold one reading, and tell no more."""

from __future__ import annotations

import math

import numpy as np
import pytest

from firmware_host.vacuum.cadence import Cadence
from firmware_host.vacuum.flow import FlowWatch, Given

BLOCK_S, TAU_S, LEVEL_PA, LIMIT_PA_PER_S, SIGMA_PA = 5, 70.0, 1_600.0, 3.3, 25.0
EBB_PA_PER_S = 500.0 / 9_000.0
"""A pump that gets hot: its level, and the bag's with it, rises by 5 hPa in 2.5 hours."""


def level_pa(at_s: float) -> float:
    ebb = EBB_PA_PER_S * max(at_s - 1_800.0, 0.0)
    return LEVEL_PA + ebb + 99_700.0 * math.exp(-at_s / TAU_S)


def given(at_s: float, *, fresh: bool) -> Given:
    return Given(
        watched=level_pa(at_s) < 15_000.0,
        shut=False,
        pump_on=True,
        band_pa=None,
        last_leak=None,
        laminate_k=293.0,
        fresh=fresh,
    )


def followed(row_s: int, seed: int, until_s: int = 10_800) -> tuple[FlowWatch, set[str]]:
    """Follow a pull-down and a long hold; give the watch and what it ever blamed."""
    rng = np.random.default_rng(seed)
    flow, blamed = FlowWatch(LIMIT_PA_PER_S), set()
    bag_pa = pump_pa = level_pa(0.0)
    for at_s in range(0, until_s, BLOCK_S):
        fresh = at_s % row_s == 0
        if fresh:
            bag_pa, pump_pa = (level_pa(at_s) + SIGMA_PA * rng.normal() for _ in range(2))
        flow.block(bag_pa, pump_pa, given(at_s, fresh=fresh))
        blamed |= {"leak"} if flow.leak is not None else set()
    return flow, blamed


@pytest.mark.parametrize("row_s", [5, 10, 60])
@pytest.mark.parametrize("seed", [1, 2, 3])
def test_a_pump_whose_level_ebbs_is_no_leak_however_seldom_rows_come(row_s: int, seed: int) -> None:
    assert followed(row_s, seed)[1] == set()


@pytest.mark.parametrize("row_s", [10, 60])
def test_how_fast_the_pump_pulls_is_learnt_from_readings_and_not_from_repeats(row_s: int) -> None:
    flow, _ = followed(row_s, 4, until_s=1_800)
    assert flow.tau_s == pytest.approx(TAU_S, rel=0.25)


def test_the_cadence_is_the_time_between_readings_and_forgets_a_gap() -> None:
    cadence = Cadence()
    assert cadence.blocks == 1.0
    for number in range(400):
        cadence.take(fresh=number == 0 or number > 100)
    assert cadence.blocks == 1.0
