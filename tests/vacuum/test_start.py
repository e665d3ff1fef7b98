"""What the start proves: a bag that does not fall, one that comes to rest too high."""

from __future__ import annotations

import math

import pytest

from firmware_host.vacuum.excursion import Cause
from firmware_host.vacuum.pull_down import pull_down_tau_s
from firmware_host.vacuum.start import PROVE_S, STALLED_S, StartProof


def proof(final_pa: float, tau_s: float, pump_pa: float | None, until_s: float) -> Cause:
    found = StartProof()
    for block in range(int(until_s / 5.0) + 1):
        t = 5.0 * block
        found.block(final_pa + (101_000.0 - final_pa) * math.exp(-t / tau_s), pump_pa, t)
    return found.cause


def test_a_bag_that_does_not_move_for_two_minutes_is_not_being_pumped() -> None:
    assert proof(100_000.0, 30.0, None, PROVE_S - 5.0) is Cause.UNKNOWN
    assert proof(100_000.0, 30.0, None, PROVE_S) is Cause.NO_START


def test_a_bag_behind_a_throttled_valve_is_left_alone() -> None:
    assert proof(2_000.0, 400.0, 3_000.0, 600.0) is Cause.UNKNOWN


@pytest.mark.parametrize(
    ("pump_pa", "cause"),
    [(39_000.0, Cause.PUMP_WEAK), (5_000.0, Cause.LEAK), (None, Cause.LEAK)],
)
def test_a_bag_that_comes_to_rest_too_high_is_leaking_or_badly_pumped(
    pump_pa: float | None, cause: Cause
) -> None:
    assert proof(40_000.0, 60.0, pump_pa, STALLED_S - 5.0) is Cause.UNKNOWN
    assert proof(40_000.0, 60.0, pump_pa, STALLED_S) is cause


def test_the_pull_down_of_three_litres_and_one_cubic_metre_an_hour() -> None:
    # tau = V / S = 10.8 s for 3 L and 1 m3/h; from room pressure to 15 kPa 20.631 s.
    tau_s = 0.003 / (1.0 / 3600.0)
    assert tau_s == pytest.approx(10.8)
    levels = [101_325.0 * math.exp(-5.0 * i / tau_s) + 500.0 for i in range(40)]
    assert pull_down_tau_s(levels, 5.0) == pytest.approx(10.8, rel=0.02)
    assert 101_325.0 * math.exp(-20.6311 / tau_s) == pytest.approx(15_000.0, rel=1e-5)


def test_a_fall_too_small_to_tell_teaches_nothing() -> None:
    assert pull_down_tau_s([2_500.0, 2_200.0, 2_000.0, 2_000.0, 2_000.0], 5.0) is None
