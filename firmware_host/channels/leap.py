"""A couple that leapt away from two or more fellows: within fifteen seconds, while they stood.

Pure, on block means. A thick part that runs away moves its couples apart and together by as much,
the form's behind the laminate's peak above all. So nothing is a leap while the fellows run away, or
have just done; and a couple that only comes nearer to fellows that moved is being warmed by them.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Sequence
from statistics import median

LEAP_K, WITHIN_BLOCKS = 4.0, 4
STILL_K = 0.8
LATELY_BLOCKS = 36
"""Three minutes: the form goes on to warm for as long behind a laminate at its peak."""
RUNAWAY_K, MOVED_K = 9.0, 2.0
"""Over three minutes; the first is the pace of STILL_K, kept up."""


class Leap:
    """How one couple has stood to the middle of its fellows lately."""

    __slots__ = ("_apart", "_lately", "_middle", "since_s")

    def __init__(self) -> None:
        self.since_s: float | None = None
        """Since when it has stood where it leapt to."""
        self._apart: deque[float] = deque(maxlen=WITHIN_BLOCKS)
        self._middle: deque[float] = deque(maxlen=WITHIN_BLOCKS)
        self._lately: deque[float] = deque(maxlen=LATELY_BLOCKS)

    def since(
        self, now_s: float, temp_k: float, fellows_k: Sequence[float], *, judged: bool
    ) -> float | None:
        """Take one block; say since when the couple has stood where it leapt to, or None."""
        middle_k = median(fellows_k)
        apart_k = temp_k - middle_k
        self._lately.append(middle_k)
        if not judged:
            self.since_s = None
            self._apart.clear()
            self._middle.clear()
            return None
        if self.since_s is not None:
            stays = self._apart and abs(apart_k - self._apart[0]) > LEAP_K
            self.since_s = self.since_s if stays else None
            return self.since_s
        self._apart.append(apart_k)
        self._middle.append(middle_k)
        if len(fellows_k) > 1 and self._leapt(apart_k):
            self.since_s = now_s
        return self.since_s

    def _leapt(self, apart_k: float) -> bool:
        from_k = max(self._apart, key=lambda before_k: abs(apart_k - before_k))
        if abs(apart_k - from_k) <= LEAP_K or _range(self._middle) >= STILL_K:
            return False
        moved_k = _range(self._lately)
        nearer = abs(apart_k) < abs(from_k) and apart_k * from_k > 0.0
        return moved_k < (MOVED_K if nearer else RUNAWAY_K)


def _range(values: Sequence[float]) -> float:
    return max(values) - min(values)
