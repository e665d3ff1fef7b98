"""Noise and code of a gauge, learnt from the differences of readings that follow each other.

Pure. Bounded: `DIFFERENCES_KEPT` differences, sorted afresh ever more rarely.
"""

from __future__ import annotations

import math
from statistics import median

DIFFERENCES_KEPT = 400
LEAST_DIFFERENCES = 5
AFRESH_AFTER, AFRESH_GROWTH = 4, 1.25
"""Learnt again after so many more differences, or a quarter more."""
CODE_FALLS, CODE_SHARE = 2.5, 0.97
"""A fall is at least this many of the largest usual differences: two codes of a coarse converter,
also where the ripple of its supply hides the code from the smallest difference and the median."""
CODE_LAG = 8
"""The newest differences are left out, lest a fall hide itself; a median does not mind them."""
FALL_SIGMAS, FALL_STEPS, LEAST_FALL_PA = 5.0, 3.0, 60.0
SPIKE_SIGMAS, SPIKE_STEPS, LEAST_SPIKE_PA = 8.0, 3.0, 100.0
UNKNOWN_NOISE_PA = 20.0
LEAST_STEP_PA = 0.05
MAD_TO_SIGMA = 1.0 / 0.6745


class ReadingNoise:
    """What one gauge's readings do from one to the next."""

    def __init__(self) -> None:
        self.noise_pa = UNKNOWN_NOISE_PA
        """One standard deviation of a single reading; a steady rise is none."""
        self.least_fall_pa = LEAST_FALL_PA
        """A smaller fall may be noise."""
        self.least_spike_pa = LEAST_SPIKE_PA
        """A reading that stands less far out may be noise."""
        self._differences: list[float] = []
        self._step_pa = float("inf")
        self._spread_pa: float | None = None
        self._code_pa = 0.0
        self._afresh_at = LEAST_DIFFERENCES

    def learn(self, difference_pa: float) -> None:
        """Take the difference of two neighbours."""
        size = abs(difference_pa)
        if LEAST_STEP_PA < size < self._step_pa:
            self._step_pa = size
            self._sum_up()
        if self._afresh_at:
            self._differences.append(difference_pa)
            if len(self._differences) >= self._afresh_at:
                self._learn_afresh()

    def _learn_afresh(self) -> None:
        count = len(self._differences)
        rise = median(self._differences)
        off = [abs(d - rise) for d in self._differences]
        self._spread_pa = _spread_pa(off)
        before = sorted(off[:-CODE_LAG])
        if len(before) >= LEAST_DIFFERENCES:
            self._code_pa = before[min(int(CODE_SHARE * count), len(before) - 1)]
        more = max(count + AFRESH_AFTER, int(AFRESH_GROWTH * count))
        self._afresh_at = min(more, DIFFERENCES_KEPT) if count < DIFFERENCES_KEPT else 0
        self._sum_up()

    def _sum_up(self) -> None:
        step_pa = self._step_pa if self._step_pa < float("inf") else 0.0
        if self._spread_pa is None:
            self.noise_pa = max(UNKNOWN_NOISE_PA, step_pa)
        else:
            self.noise_pa = (self._spread_pa**2 + step_pa**2 / 12.0 + 1.0) ** 0.5
        self.least_fall_pa = max(
            FALL_SIGMAS * self.noise_pa,
            FALL_STEPS * step_pa,
            CODE_FALLS * self._code_pa,
            LEAST_FALL_PA,
        )
        self.least_spike_pa = max(
            SPIKE_SIGMAS * self.noise_pa, SPIKE_STEPS * step_pa, LEAST_SPIKE_PA
        )


def _spread_pa(off_pa: list[float]) -> float:
    """Give the noise of one reading from the sizes of its differences' scatter.

    Where most differences are alike (coarse step) the median says nothing; the mean square does.
    """
    spread = median(off_pa) * MAD_TO_SIGMA / 2.0**0.5
    return spread or math.sqrt(sum(d * d for d in off_pa) / len(off_pa) / 2.0)
