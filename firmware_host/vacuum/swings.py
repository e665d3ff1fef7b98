"""A pump that starts again and again: its pauses are drop tests too short to be fitted one by one.

Pure. What a block adds to the pressure is summed over two minutes. Only rises count that are a good
share of the band and far beyond the noise as it was at its quietest (a sawtooth is no noise), and
only several of them: gas shared with a second bag is one jump.
"""

from __future__ import annotations

from collections import deque

from firmware_host.vacuum.isolated_rate import Rate
from firmware_host.vacuum.track import BLOCK_S

SWING_BLOCKS, LEAST_SWINGS = 24, 4
SWING_SHARE = 0.1
NOISES = 8.0
LEAST_TIMES_LIMIT = 1.5


class Swings:
    """Rises of the last two minutes."""

    def __init__(self, limit_pa_per_s: float, share: float) -> None:
        self._limit = limit_pa_per_s
        self._share = share
        self._last_pa: float | None = None
        self._rises: deque[float] = deque([0.0] * SWING_BLOCKS, maxlen=SWING_BLOCKS)

    def add(self, bag_pa: float, quiet_pa: float, band: tuple[float, float] | None) -> None:
        """Take a block; without a band nothing counts."""
        rise_pa = bag_pa - self._last_pa if self._last_pa is not None else 0.0
        self._last_pa = bag_pa
        if band is None or rise_pa < max(NOISES * quiet_pa, SWING_SHARE * (band[1] - band[0])):
            rise_pa = 0.0
        self._rises.append(rise_pa)

    def leak(self) -> Rate | None:
        """Give the leak that the swings show, if it is above the limit.

        Blocks that hold the pump's stroke hide up to three quarters of it: the interval is wide.
        """
        rises = [rise for rise in self._rises if rise > 0.0]
        rate = sum(rises) / (SWING_BLOCKS * BLOCK_S) / self._share
        if len(rises) < LEAST_SWINGS or rate < LEAST_TIMES_LIMIT * self._limit:
            return None
        return Rate(rise_pa_per_s=1.5 * rate, low_pa_per_s=rate, high_pa_per_s=4.0 * rate)
