"""A long series drawn small: least and greatest of every pixel column, so that no spike is lost.

Pure and streaming: runs of readings go in, nothing but the columns is kept. Inside these arrays,
and nowhere else, NaN stands for a missing reading: it is what breaks a drawn line.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

COLUMNS = 900
"""Pixel columns over the width of a page: 190 mm at 120 to the inch."""


class Trace:
    """One channel over one window of time."""

    def __init__(self, start_s: float, end_s: float, columns: int = COLUMNS) -> None:
        self.start_s, self.end_s = start_s, max(end_s, start_s + 1.0)
        self._per_s = columns / (self.end_s - self.start_s)
        self._least = np.full(columns, np.inf)
        self._greatest = np.full(columns, -np.inf)
        self._first, self._last = np.full(columns, np.nan), np.full(columns, np.nan)
        self._from_s, self._to_s = np.full(columns, np.inf), np.full(columns, -np.inf)

    def take(self, time_s: Floats, values: Floats) -> None:
        """Take a run of readings; those outside the window are let go."""
        kept = (time_s >= self.start_s) & (time_s <= self.end_s) & ~np.isnan(values)
        if not kept.any():
            return
        if not kept.all():
            time_s, values = time_s[kept], values[kept]
        if np.any(np.diff(time_s) < 0.0):  # a late frame
            order = np.argsort(time_s, kind="stable")
            time_s, values = time_s[order], values[order]
        column = ((time_s - self.start_s) * self._per_s).astype(np.intp)
        np.minimum(column, len(self._least) - 1, out=column)
        starts = np.concatenate(([0], np.flatnonzero(np.diff(column)) + 1))
        self._merge(column[starts], starts, time_s, values)

    def path(self, longest_s: float) -> tuple[Floats, Floats]:
        """Give the line to be drawn: times and values, with NaN wherever it must break.

        The line breaks where two neighbouring readings lie further apart than `longest_s`.
        """
        held = np.flatnonzero(np.isfinite(self._least))
        from_s, to_s = self._from_s[held], self._to_s[held]
        middle_s = (from_s + to_s) / 2.0
        falls = self._first[held] > self._last[held]
        least, greatest = self._least[held], self._greatest[held]
        one, other = np.where(falls, greatest, least), np.where(falls, least, greatest)
        parts_t = np.column_stack((from_s, middle_s, middle_s, to_s, to_s))
        parts_v = np.column_stack(
            (self._first[held], one, other, self._last[held], np.full(len(held), np.nan))
        )
        breaks = np.append(from_s[1:] - to_s[:-1] > longest_s, False)[: len(held)]
        keep = _needed(parts_t, parts_v, breaks)
        return parts_t[keep], parts_v[keep]

    def _merge(
        self, columns: NDArray[np.intp], starts: NDArray[np.intp], time_s: Floats, values: Floats
    ) -> None:
        ends = np.append(starts[1:], len(values)) - 1
        least, greatest = self._least, self._greatest
        least[columns] = np.minimum(least[columns], np.minimum.reduceat(values, starts))
        greatest[columns] = np.maximum(greatest[columns], np.maximum.reduceat(values, starts))
        earlier = time_s[starts] < self._from_s[columns]
        self._first[columns[earlier]] = values[starts[earlier]]
        self._from_s[columns[earlier]] = time_s[starts[earlier]]
        later = time_s[ends] >= self._to_s[columns]
        self._last[columns[later]] = values[ends[later]]
        self._to_s[columns[later]] = time_s[ends[later]]


def _needed(times: Floats, values: Floats, breaks: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Tell which of first, extremes, last and break of each column have to be drawn."""
    keep = np.ones(values.shape, dtype=bool)
    single = times[:, 0] == times[:, 3]
    keep[single, 1:4] = values[single, 1:4] != values[single, 0:1]
    keep[:, 4] = breaks
    return keep
