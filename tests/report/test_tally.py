from __future__ import annotations

import numpy as np

from firmware_host.report.tally import Extreme, Span, Tally

WHOLE = Span(0.0, 1000.0)
NAN = float("nan")


def tallied(values: list[float], *, runs: int = 1, tally: Tally | None = None) -> Tally:
    tally = tally or Tally(window=WHOLE)
    times = np.arange(len(values), dtype=float)
    for part in np.array_split(np.arange(len(values)), runs):
        tally.take(times[part], np.array(values, dtype=float)[part])
    return tally


def test_one_spike_is_no_temperature() -> None:
    assert tallied([20.0, 20.0, 300.0, 20.0]).highest == Extreme(20.0, 1.0)


def test_two_readings_in_a_row_are_one_also_across_runs() -> None:
    for runs in (1, 2, 4):
        assert tallied([20.0, 31.0, 30.0, 20.0], runs=runs).highest == Extreme(30.0, 2.0)


def test_readings_of_a_channel_that_lies_do_not_count() -> None:
    tally = Tally(window=WHOLE, blind=(Span(2.0, 4.0),))
    assert tallied([20.0, 20.0, 90.0, 90.0, 90.0, 20.0, 20.0], tally=tally).highest == Extreme(
        20.0, 1.0
    )


def test_time_below_the_limit_is_not_counted_across_a_gap() -> None:
    tally = Tally(window=WHOLE, limit=10.0)
    tally.take(np.array([0.0, 1.0, 2.0, 100.0, 101.0]), np.array([1.0, 1.0, 1.0, 1.0, 1.0]))
    assert tally.below_s == 3.0


def test_a_reading_at_the_limit_is_not_below_it() -> None:
    assert tallied([10.0, 10.0], tally=Tally(window=WHOLE, limit=10.0)).below_s == 0.0
    assert tallied([9.9, 9.9], tally=Tally(window=WHOLE, limit=10.0)).below_s == 1.0


def test_missing_readings_are_counted_and_never_taken_for_values() -> None:
    tally = tallied([NAN, 5.0, NAN, 5.0, 5.0])
    assert (tally.readings, tally.missing, tally.first) == (3, 2, Extreme(5.0, 1.0))


def test_a_channel_that_never_spoke_has_no_extremes() -> None:
    tally = tallied([NAN, NAN])
    assert (tally.lowest, tally.highest, tally.first, tally.readings) == (None, None, None, 0)
