"""What raised a level behind a running pump, where both gauges rise alike: closed forms only."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from firmware_host.vacuum.excursion import Cause, Excursion, Known
from firmware_host.vacuum.track import BLOCK_S, Track

BASE_PA, BASE_BLOCKS = 5000.0, 60
NOISE_PA = 8.0


def judged(rise_pa: Callable[[float], float], for_s: float, tau_s: float = 15.0) -> Cause:
    """Let both gauges follow the same rise for so long and give what is made of it."""
    rng = np.random.default_rng(41)
    bag, pump = Track(), Track()

    def add(more_pa: float) -> None:
        for track in (bag, pump):
            track.add(BASE_PA + more_pa + float(rng.normal(0.0, NOISE_PA)))

    for _ in range(BASE_BLOCKS):
        add(0.0)
    found = Excursion(BASE_PA, BASE_PA, 10.0, BASE_BLOCKS // 2)
    known = Known(limit_pa_per_s=3.3, tau_s=tau_s, last_leak=None, noise_pa=NOISE_PA)
    for block in range(int(for_s / BLOCK_S)):
        add(rise_pa(block * BLOCK_S))
        found.look(bag, pump, known)
    return found.cause


@pytest.mark.parametrize("size_pa", [400.0, 700.0, 1500.0])
def test_two_gauges_that_jump_at_once_are_their_supply_and_no_pump(size_pa: float) -> None:
    assert judged(lambda _: size_pa, 600.0) is Cause.GAUGES


def test_a_rise_as_fast_as_gas_can_make_it_is_the_pump() -> None:
    """1 - e^(-t/15 s): the same size, at the pace of bag and pump."""
    assert judged(lambda t: 700.0 * (1.0 - np.exp(-t / 15.0)), 600.0) is Cause.PUMP_WEAK


def test_where_gas_itself_jumps_a_jump_says_nothing_of_the_gauges() -> None:
    assert judged(lambda _: 700.0, 600.0, tau_s=3.0) is Cause.PUMP_WEAK


def test_a_jump_of_many_kilopascals_is_no_supply() -> None:
    assert judged(lambda _: 9000.0, 600.0) is not Cause.GAUGES


def test_a_falling_barometer_is_no_pump_however_long_it_falls() -> None:
    """6 hPa in three hours, for six hours, on gauges that read against the room."""
    assert judged(lambda t: 600.0 * t / 10800.0, 21600.0) is Cause.UNKNOWN


def test_a_pump_that_wears_within_an_hour_is_told() -> None:
    assert judged(lambda t: 2000.0 * t / 3600.0, 3600.0) is Cause.PUMP_WEAK
