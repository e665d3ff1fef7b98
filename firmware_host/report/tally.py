"""What one channel amounts to over a job: how often it was read, and how far it went.

Pure and streaming, beside `decimate`. A highest or lowest reading counts only where two readings
in a row reach it, and not while the channel was known to lie: one spike is no temperature.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from firmware_host.report.decimate import Floats

BLANK_PERIODS, BLANK_LEAST_S = 3.0, 1.0
"""A channel says nothing any more after so long; a line is not drawn over more."""


@dataclass(frozen=True, slots=True)
class Span:
    """A stretch of the job's time line."""

    start_s: float
    end_s: float

    @property
    def length_s(self) -> float:
        """How long it is."""
        return max(self.end_s - self.start_s, 0.0)


@dataclass(slots=True)
class Extreme:
    """The furthest that two readings in a row reached, and when."""

    value: float
    time_s: float


class Tally:
    """One channel, counted over the whole record and judged over a window of it."""

    def __init__(
        self, *, window: Span, blind: Sequence[Span] = (), limit: float | None = None
    ) -> None:
        """Judge readings within `window` and outside `blind`; time below `limit` is added up."""
        self.readings = 0
        self.missing = 0
        self.period_s: float | None = None
        self.lowest: Extreme | None = None
        self.highest: Extreme | None = None
        self.below_s = 0.0
        self.first: Extreme | None = None
        """The first reading in the window."""
        self._window, self._blind, self._limit = window, tuple(blind), limit
        self._tail_s, self._tail = np.empty(0), np.empty(0)

    @property
    def longest_s(self) -> float:
        """Time between two readings over which nothing may be drawn."""
        return max(BLANK_PERIODS * (self.period_s or 0.0), BLANK_LEAST_S)

    def take(self, time_s: Floats, values: Floats) -> None:
        """Take a run of readings, NaN where one is missing."""
        held = ~np.isnan(values)
        count = int(held.sum())
        self.readings += count
        self.missing += len(values) - count
        if count < len(values):
            time_s, values = time_s[held], values[held]
        if self.period_s is None and count > 1:
            self.period_s = float(np.median(np.diff(time_s)))
        judged = self._judged(time_s)
        if not judged.all():
            time_s, values = time_s[judged], values[judged]
        if len(values):
            self._judge(time_s, values)

    def _judged(self, time_s: Floats) -> np.typing.NDArray[np.bool_]:
        judged = (time_s >= self._window.start_s) & (time_s <= self._window.end_s)
        for span in self._blind:
            judged &= (time_s < span.start_s) | (time_s > span.end_s)
        return judged

    def _judge(self, time_s: Floats, values: Floats) -> None:
        if self.first is None:
            self.first = Extreme(float(values[0]), float(time_s[0]))
        time_s = np.concatenate((self._tail_s, time_s))
        values = np.concatenate((self._tail, values))
        self._tail_s, self._tail = time_s[-1:], values[-1:]
        near = np.diff(time_s) <= self.longest_s
        if not near.any():
            return
        pairs_s = time_s[1:][near]
        higher = np.maximum(values[1:], values[:-1])[near]
        lower = np.minimum(values[1:], values[:-1])[near]
        self._stretch(pairs_s, lower, higher)
        if self._limit is not None:
            self.below_s += float(np.diff(time_s)[near][higher < self._limit].sum())

    def _stretch(self, time_s: Floats, lower: Floats, higher: Floats) -> None:
        top, bottom = int(np.argmax(lower)), int(np.argmin(higher))
        if self.highest is None or lower[top] > self.highest.value:
            self.highest = Extreme(float(lower[top]), float(time_s[top]))
        if self.lowest is None or higher[bottom] < self.lowest.value:
            self.lowest = Extreme(float(higher[bottom]), float(time_s[bottom]))
