"""What would mend a window: the doses worked by hand from three cups, and the edges."""

from __future__ import annotations

import math

import pytest

from firmware_host.batch.checks import DoseLimits, dose_limits
from firmware_host.batch.mend import (
    DoseRange,
    coolest_that_fits,
    dose_for,
    lowest_dose_by,
    warmest_needed,
)
from firmware_host.batch.work_window import SEALED_SHARE, Window, WindowSource, window_of
from firmware_host.history.gaussian import Expected
from tests.history.test_gaussian import CUP_SD, after, weights

TRADE = dose_limits(None)
WANTED_MIN = 43.75
"""35 min of work over the 0.8 of the last smoothing."""


def at(temp_c: float, dose: float) -> Window:
    """The window after three cups, as the next cup's own forecast."""
    told = after(3).expected(weights(temp_c, dose))
    ln_gel = Expected(mean=told.mean, sd=math.hypot(told.sd, CUP_SD))
    return window_of(ln_gel, WindowSource.CUP, 0)


def at_median(temp_c: float, dose: float) -> Window:
    """The same, judged at its median."""
    told = after(3).expected(weights(temp_c, dose))
    return window_of(told, WindowSource.PRESET, 0)


def at_fifth_percentile(temp_c: float, dose: float) -> Window:
    told = after(3).expected(weights(temp_c, dose))
    early = told.mean - 1.6448536 * math.hypot(told.sd, CUP_SD)
    return window_of(Expected(mean=early, sd=0.0), WindowSource.PRESET, 0)


def exact_dose(window_at: object, temp_c: float, low: float = 0.3, high: float = 4.0) -> float:
    """Dose at which the window's own gate time is the wanted one, by halving."""
    for _ in range(60):
        middle = 0.5 * (low + high)
        late = window_at(temp_c, middle).earliest_min > WANTED_MIN  # type: ignore[operator]  # any window law
        low, high = (middle, high) if late else (low, middle)
    return low


@pytest.mark.parametrize(
    ("window_at", "temp_c", "dose"),
    [
        (at_median, 16.0, 1.715),
        (at_median, 24.0, 0.941),
        (at_fifth_percentile, 16.0, 1.495),
        (at_fifth_percentile, 24.0, 0.680),
    ],
)
def test_the_dose_for_a_wanted_window_is_the_one_worked_by_hand(
    window_at: object, temp_c: float, dose: float
) -> None:
    assert exact_dose(window_at, temp_c) == pytest.approx(dose, abs=6e-4)


def test_a_dose_is_proposed_in_steps_a_person_weighs_and_never_above_what_fits() -> None:
    found = dose_for(SEALED_SHARE * WANTED_MIN, at_median, 16.0, TRADE)
    assert found == DoseRange(low=1.6, high=1.7)
    assert at_median(16.0, found.high).earliest_min >= WANTED_MIN > at_median(16.0, 1.72).gel_min


def test_no_dose_below_the_floor_is_proposed() -> None:
    """24 C needs 0.941 %: cool the resin or split the batch instead."""
    assert dose_for(SEALED_SHARE * WANTED_MIN, at_median, 24.0, TRADE) is None


def test_where_everything_fits_the_ceiling_is_the_answer() -> None:
    assert dose_for(1.0, at, 16.0, TRADE) == DoseRange(low=2.5, high=2.5)


def test_a_range_narrower_than_a_step_gives_its_floor() -> None:
    narrow = DoseLimits(lowest=1.75, highest=1.78, never_above=2.0, whose="a sheet")
    just = SEALED_SHARE * at_median(16.0, 1.76).earliest_min
    assert dose_for(just, at_median, 16.0, narrow) == DoseRange(low=1.75, high=1.75)


def test_the_cooler_temperature_just_fits_and_a_degree_more_does_not() -> None:
    wanted = SEALED_SHARE * 30.0
    cool_c = coolest_that_fits(wanted, at_median, 28.0, 1.5, 15.0)
    assert cool_c is not None
    assert at_median(cool_c, 1.5).sealed_by_min >= wanted
    assert at_median(cool_c + 0.01, 1.5).sealed_by_min < wanted


def test_cooling_below_the_cold_limit_is_never_proposed() -> None:
    assert coolest_that_fits(500.0, at_median, 28.0, 1.5, 15.0) is None
    assert coolest_that_fits(1.0, at_median, 15.0, 1.5, 15.0) is None


def test_the_warmth_that_is_needed_just_does_and_too_much_is_never_proposed() -> None:
    warm_c = warmest_needed(40.0, at_median, 12.0, 1.5)
    assert warm_c is not None
    assert at_median(warm_c, 1.5).gel_min == pytest.approx(40.0, abs=1e-3)
    assert warmest_needed(1.0, at_median, 12.0, 1.5) is None


def test_the_lowest_dose_in_time_is_one_step_above_one_that_is_late() -> None:
    dose = lowest_dose_by(40.0, at_median, 16.0, TRADE)
    assert dose is not None
    assert at_median(16.0, dose).gel_min <= 40.0 < at_median(16.0, dose - 0.1).gel_min
    assert lowest_dose_by(500.0, at_median, 16.0, TRADE) == TRADE.lowest
    assert lowest_dose_by(5.0, at_median, 16.0, TRADE) is None
