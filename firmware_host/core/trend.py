"""The whole job in a bounded number of points: when full, two neighbours become one.

Pure. A point is the mean of what was known in its step; the step doubles as the job grows, so that
a day costs no more than an hour. Steps without a block of readings, in which nobody watched, hold
no point at all: nothing may be drawn across them.
"""

from __future__ import annotations

from firmware_host.model.trend import Trend

FIRST_STEP_S = 10
MOST_POINTS = 720

Row = tuple[float | None, float | None, float | None]
"""Bag in Pa, laminate in K, shop in K."""


class _Means:
    """Sum and number of what was known in one step, for each column."""

    __slots__ = ("counts", "sums")

    def __init__(self) -> None:
        self.sums = [0.0, 0.0, 0.0]
        self.counts = [0, 0, 0]

    def add(self, row: Row) -> None:
        for column, value in enumerate(row):
            if value is not None:
                self.sums[column] += value
                self.counts[column] += 1

    def join(self, other: _Means) -> None:
        for column in range(3):
            self.sums[column] += other.sums[column]
            self.counts[column] += other.counts[column]

    def mean(self, column: int) -> float | None:
        count = self.counts[column]
        return self.sums[column] / count if count else None


class TrendRing:
    """Takes block means in the order of time."""

    def __init__(self) -> None:
        self._step_s = FIRST_STEP_S
        self._steps: dict[int, _Means] = {}
        """By number of the step, in order of time."""

    def add(self, time_s: float, row: Row) -> None:
        """Take the means of one block that ends at a moment."""
        # A block that ends on a step's edge belongs to the step that ends there.
        number = int(-(-time_s // self._step_s))
        self._steps.setdefault(number, _Means()).add(row)
        while len(self._steps) > MOST_POINTS:
            self._halve()

    def trend(self) -> Trend:
        """Give the job so far."""
        steps = self._steps.values()
        return Trend(
            step_s=float(self._step_s),
            time_s=tuple(float(number * self._step_s) for number in self._steps),
            bag_pa=tuple(step.mean(0) for step in steps),
            laminate_k=tuple(step.mean(1) for step in steps),
            shop_k=tuple(step.mean(2) for step in steps),
        )

    def _halve(self) -> None:
        coarse: dict[int, _Means] = {}
        for number, means in self._steps.items():
            coarse.setdefault(-(-number // 2), _Means()).join(means)
        self._steps = coarse
        self._step_s *= 2
