from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from firmware_host.report.decimate import Floats, Trace


def taken(times: list[float], values: list[float], columns: int = 10) -> Trace:
    trace = Trace(0.0, 100.0, columns)
    trace.take(np.array(times), np.array(values))
    return trace


def drawn(path: tuple[Floats, Floats]) -> list[list[float]]:
    """Give the pieces of a path between its breaks."""
    pieces: list[list[float]] = [[]]
    for value in path[1]:
        if np.isnan(value):
            pieces.append([])
        else:
            pieces[-1].append(float(value))
    return pieces


def test_a_spike_of_one_reading_among_a_million_is_drawn_to_its_tip() -> None:
    values = np.full(1_000_000, 20.0)
    values[777_777] = 300.0
    trace = Trace(0.0, 100_000.0)
    for start in range(0, len(values), 8192):
        run = values[start : start + 8192]
        trace.take(np.arange(start, start + len(run)) / 10.0, run)
    times, held = trace.path(1.0)
    assert held.max() == 300.0
    assert times[np.argmax(held)] == pytest.approx(77_777.7, abs=60.0)
    assert len(held) < 5000


@given(
    st.lists(
        st.tuples(st.floats(0.0, 100.0), st.floats(-1e3, 1e3) | st.just(float("nan"))),
        min_size=1,
        max_size=200,
    ),
    st.integers(1, 7),
)
def test_every_column_keeps_its_least_and_greatest_however_readings_come_in(
    readings: list[tuple[float, float]], runs: int
) -> None:
    times = np.array([time for time, _ in readings])
    values = np.array([value for _, value in readings])
    trace = Trace(0.0, 100.0, 10)
    for part in np.array_split(np.arange(len(times)), runs):
        trace.take(times[part], values[part])
    path_s, path = trace.path(1000.0)
    column = np.minimum((times * 0.1).astype(int), 9)
    drawn_in = np.minimum((path_s * 0.1).astype(int), 9)
    for number in range(10):
        held = values[(column == number) & ~np.isnan(values)]
        shown = path[(drawn_in == number) & ~np.isnan(path)]
        if len(held):
            assert (shown.min(), shown.max()) == (held.min(), held.max())
        else:
            assert len(shown) == 0


def test_a_gap_is_not_bridged() -> None:
    trace = taken([0.0, 1.0, 2.0, 50.0, 51.0], [1.0, 1.0, 1.0, 2.0, 2.0])
    assert [sorted(set(piece)) for piece in drawn(trace.path(3.0))] == [[1.0], [2.0]]


def test_a_gap_just_as_long_as_allowed_is_bridged_and_one_longer_is_not() -> None:
    trace = taken([5.0, 15.0], [1.0, 2.0])
    assert drawn(trace.path(10.0)) == [[1.0, 2.0]]
    assert drawn(trace.path(9.999)) == [[1.0], [2.0]]


def test_missing_readings_break_the_line_like_missing_frames() -> None:
    times = [float(t) for t in range(100)]
    values = [float("nan") if 30 <= t < 60 else 5.0 for t in range(100)]
    path_s, path = taken(times, values).path(3.0)
    assert int(np.isnan(path).sum()) == 1
    assert not ((path_s > 30.0) & (path_s < 59.0) & ~np.isnan(path)).any()


def test_readings_outside_the_window_are_let_go() -> None:
    trace = Trace(10.0, 20.0, 5)
    trace.take(np.array([9.9, 10.0, 20.0, 20.1]), np.array([1.0, 2.0, 3.0, 4.0]))
    assert set(trace.path(100.0)[1]) == {2.0, 3.0}


def test_a_trace_without_readings_draws_nothing() -> None:
    assert len(Trace(0.0, 1.0).path(1.0)[0]) == 0


def test_a_rise_is_drawn_from_below_and_a_fall_from_above() -> None:
    trace = taken([0.0, 1.0, 2.0, 3.0, 10.0, 11.0, 12.0, 13.0], [1, 0, 9, 2, 8, 9, 0, 1])
    assert drawn(trace.path(100.0)) == [[1.0, 0.0, 9.0, 2.0, 8.0, 9.0, 0.0, 1.0]]
