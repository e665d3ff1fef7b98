"""Board time to job time: drift, jitter, stalls, restarts."""

from __future__ import annotations

import random
from itertools import pairwise

import pytest

from firmware_host.inputs.board_clock import BUCKET_MS, JUMP_MS, STEP_MS, BoardClock

DAY_MS = 86_400_000
PERIOD_MS = 500


def mapped_errors_ms(ppm: float, *, span_ms: int, jitter_ms: int) -> list[int]:
    """Mapped less true time of a board whose crystal is off by `ppm` (slow: negative)."""
    chance = random.Random(7)
    clock = BoardClock()
    errors = []
    for true_ms in range(1000, span_ms, PERIOD_MS):
        board_ms = round(true_ms * (1.0 + ppm * 1e-6))
        (time_ms,) = clock.times_ms([board_ms], true_ms + chance.randrange(jitter_ms + 1))
        errors.append(time_ms - true_ms)
    return errors


@pytest.mark.parametrize("ppm", [-200.0, -50.0, 0.0, 50.0, 200.0])
def test_a_crystal_that_is_off_never_moves_samples_by_more_than_the_window_allows(
    ppm: float,
) -> None:
    errors = mapped_errors_ms(ppm, span_ms=6 * 3_600_000, jitter_ms=30)
    # Two buckets of drift, and at most the jitter until a prompt reading was seen.
    assert max(abs(error) for error in errors) <= 2 * BUCKET_MS * 200e-6 + 30 + 1


def test_without_the_sliding_window_a_slow_crystal_would_lag_by_seconds_a_day() -> None:
    errors = mapped_errors_ms(-200.0, span_ms=DAY_MS, jitter_ms=30)
    assert DAY_MS * 200e-6 > 17_000  # what the smallest delay ever seen would cost
    assert abs(errors[-1]) < 100


def test_mapped_time_rises_strictly_whatever_the_delays_are() -> None:
    chance = random.Random(3)
    clock = BoardClock()
    times: list[int] = []
    arrival_ms = 0
    for board_ms in range(0, 3_600_000, 20):
        arrival_ms = max(arrival_ms, board_ms + chance.choice([0, 3, 80, 700, 5000]))
        times += clock.times_ms([board_ms], arrival_ms)
    assert all(later > earlier for earlier, later in pairwise(times))


def test_a_stall_of_two_seconds_moves_no_sample() -> None:
    clock = BoardClock()
    for board_ms in range(0, 10_000, 500):
        clock.times_ms([board_ms], 70_000 + board_ms)
    assert clock.times_ms([10_000, 10_500, 11_000, 11_500, 12_000], 82_000) == (
        80_000,
        80_500,
        81_000,
        81_500,
        82_000,
    )


def test_a_stalled_single_sample_keeps_its_time() -> None:
    clock = BoardClock()
    clock.times_ms([0], 70_000)
    clock.times_ms([500], 70_500)
    assert clock.times_ms([1000], 73_000) == (71_000,)


def test_a_late_first_sample_is_corrected_at_half_speed_and_never_backwards() -> None:
    clock = BoardClock()
    times = [*clock.times_ms([0], 2000)]
    for board_ms in range(500, 5000, 500):
        times += clock.times_ms([board_ms], board_ms)
    assert times[:7] == [2000, 2250, 2500, 2750, 3000, 3250, 3500]
    assert times[-1] == pytest.approx(4500 + STEP_MS, abs=2)  # the rest is slewed


def test_an_error_at_the_step_limit_is_slewed_and_one_past_it_is_stepped() -> None:
    # A host that slept: its clock stood still while the board's went on.
    at_limit, past_limit = BoardClock(), BoardClock()
    for clock in (at_limit, past_limit):
        clock.times_ms([0], 0)
    assert at_limit.times_ms([10_000], 10_000 - STEP_MS) == (9990,)
    assert past_limit.times_ms([10_000], 10_000 - STEP_MS - 1) == (10_000 - STEP_MS - 1,)


def test_a_board_that_paused_is_followed_once_the_window_has_passed() -> None:
    clock = BoardClock()
    clock.times_ms([0], 0)
    late_ms = 10_000
    errors = []
    for board_ms in range(500, 4 * BUCKET_MS, 500):
        (time_ms,) = clock.times_ms([board_ms], board_ms + late_ms)
        errors.append(time_ms - board_ms - late_ms)
    assert errors[0] == -late_ms
    assert errors[-1] == 0


def test_a_restarted_board_begins_at_its_arrival() -> None:
    clock = BoardClock()
    clock.times_ms([500_000], 600_000)
    clock.restart()
    assert clock.times_ms([1200], 603_000) == (603_000,)


def test_after_a_restart_time_still_does_not_run_backwards() -> None:
    clock = BoardClock()
    clock.times_ms([0], 2000)
    clock.restart()
    assert clock.times_ms([40, 60], 1990) == (2001, 2021)


def test_a_board_clock_that_leaps_is_mapped_anew() -> None:
    # A restart that nobody heard looks like a wrap of the board's counter: 49.7 days at once.
    clock = BoardClock()
    clock.times_ms([900_000], 20_000)
    assert clock.times_ms([2**32 + 700], 21_000) == (21_000,)


@pytest.mark.parametrize(("over_ms", "expected_ms"), [(0, 100_000 - JUMP_MS), (1, 100_000)])
def test_a_board_that_falls_behind_by_the_jump_is_late_and_by_more_is_mapped_anew(
    over_ms: int, expected_ms: int
) -> None:
    clock = BoardClock()
    clock.times_ms([0], 20_000)
    clock.times_ms([500], 20_500)
    board_ms = 80_000 - JUMP_MS - over_ms
    (time_ms,) = clock.times_ms([board_ms], 100_000)
    assert time_ms == pytest.approx(expected_ms, abs=60)


def test_a_jump_inside_a_backlog_cuts_it() -> None:
    clock = BoardClock()
    clock.times_ms([0, 500], 10_000)
    assert clock.times_ms([1000, 1500, 2**32, 2**32 + 500], 11_000) == (
        10_500,
        11_000,
        11_001,
        11_251,
    )


def test_an_hour_of_silence_leaves_no_old_minimum_behind() -> None:
    clock = BoardClock()
    clock.times_ms([0], 0)
    hour_ms = 3_600_000
    slow_board_ms = hour_ms - 720  # 200 ppm
    assert clock.times_ms([slow_board_ms], hour_ms) == (hour_ms,)
