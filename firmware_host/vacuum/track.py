"""Block means in a row: mean and slope of any recent stretch at the cost of two look-ups.

Pure. Running sums of v and i v are kept, so that a detector that looks at several windows every
five seconds costs the same at hour 24 as at hour 1. Two hours are kept at least, four at most.
"""

from __future__ import annotations

BLOCK_S = 5.0
KEPT_BLOCKS = 1440


class Track:
    """Means of one channel, one every five seconds."""

    __slots__ = ("_moments", "_sums", "_values")

    def __init__(self) -> None:
        self._values: list[float] = []
        self._sums = [0.0]
        self._moments = [0.0]

    def __len__(self) -> int:
        return len(self._values)

    def add(self, value: float) -> None:
        """Take the mean of one more block."""
        self._moments.append(self._moments[-1] + len(self._values) * value)
        self._sums.append(self._sums[-1] + value)
        self._values.append(value)
        if len(self._values) >= 2 * KEPT_BLOCKS:
            self._forget(self._values[-KEPT_BLOCKS:])

    def last(self, back: int = 0) -> float:
        """Give a block mean, counted back from the newest."""
        return self._values[-1 - back]

    def mean(self, blocks: int, skipped: int = 0) -> float:
        """Give the mean of `blocks` blocks that end `skipped` blocks before the newest's end.

        >>> track = Track()
        >>> for value in (1.0, 2.0, 6.0):
        ...     track.add(value)
        >>> track.mean(2), track.mean(2, 1)
        (4.0, 1.5)
        """
        end = len(self._values) - skipped
        return (self._sums[end] - self._sums[end - blocks]) / blocks

    def slope_per_s(self, blocks: int, skipped: int = 0) -> float:
        """Give the least-squares slope of at least two blocks.

        >>> track = Track()
        >>> for value in (10.0, 20.0, 30.0):
        ...     track.add(value)
        >>> track.slope_per_s(3)
        2.0
        """
        end = len(self._values) - skipped
        begin = end - blocks
        total = self._sums[end] - self._sums[begin]
        moment = self._moments[end] - self._moments[begin]
        centre = 0.5 * (begin + end - 1)
        return (moment - centre * total) / (blocks * (blocks * blocks - 1) / 12.0) / BLOCK_S

    def _forget(self, kept: list[float]) -> None:
        self._values, self._sums, self._moments = [], [0.0], [0.0]
        for value in kept:
            self.add(value)
