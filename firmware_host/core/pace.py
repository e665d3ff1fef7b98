"""Time between frames of a group: stated by the bench file, or learnt from the first frames.

A log does not state its own, and nothing is late before the pace is known: a row a minute is no
silence. Whether a channel was silent meanwhile shows as soon as three intervals have come.
"""

from __future__ import annotations

import math
from statistics import median

LEARN_FROM = 16
UNTIL_LEARNT_S = math.inf
LEAST_INTERVALS = 3


class Pace:
    """The period of one group."""

    __slots__ = ("_intervals", "_last_s", "period_s")

    def __init__(self, stated_s: float | None) -> None:
        self.period_s = stated_s if stated_s is not None else UNTIL_LEARNT_S
        self._intervals: list[float] | None = [] if stated_s is None else None
        self._last_s: float | None = None

    def take(self, time_s: float) -> None:
        """Learn from one more frame, while there is anything to learn."""
        if self._intervals is None:
            return
        if self._last_s is not None and time_s > self._last_s:
            self._intervals.append(time_s - self._last_s)
            if len(self._intervals) >= LEAST_INTERVALS:
                self.period_s = median(self._intervals)
            if len(self._intervals) >= LEARN_FROM:
                self._intervals = None
        self._last_s = time_s
