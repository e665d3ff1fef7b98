"""Whether a level has shifted up beyond what its own wander makes of it.

Pure. A gauge wanders, and white-noise tuning then cries wolf a hundred times a day. The mean of a
recent stretch is therefore held against the mean of the stretch before it, at several lengths: a
step shows in half a minute, a creep in half an hour. How far such a difference swings by itself is
learnt from the swings *downwards*, which no leak makes. The thresholds, in those units, are chosen
from the operating curves of the bench `flow_curves`; a shift alone is no alarm yet.
"""

from __future__ import annotations

from dataclasses import dataclass

from firmware_host.vacuum.track import Track


@dataclass(frozen=True, slots=True)
class Scale:
    """One pair of stretches, in blocks, and what is known of their difference beforehand."""

    recent: int
    before: int
    swing_pa: float
    """One standard deviation before anything is learnt: a gauge that wanders 25 Pa within some
    minutes, as the recorded ones do."""
    least_swings: float


SCALES = (
    Scale(4, 12, 28.0, 5.5),
    Scale(4, 60, 32.0, 5.5),
    Scale(12, 60, 30.0, 4.8),
    Scale(60, 120, 24.0, 4.7),
    Scale(180, 180, 20.0, 4.5),
)
LOWEST_BLOCKS = 120
LOWEST_SWINGS, LOWEST_SWING_PA = 5.2, 36.0
"""A creep that no pair of stretches shows stands above the lowest ten minutes of the hold."""
CLIP = 3.0
PRIOR_WEIGHT = 6.0
LONGEST_MEMORY = 60.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Shift:
    """A level that went up."""

    base_pa: float
    size_pa: float
    error_pa: float
    blocks: int
    """How long the recent stretch is that stands out."""
    base_blocks: int
    """Length of the stretch that it is held against."""
    base_skipped: int
    """Blocks between that stretch's end and now."""


class ShiftDetector:
    """Looks at a track once per block."""

    __slots__ = ("_lowest_age", "_lowest_pa", "_next", "_seen", "_sureness", "_variance", "_weight")

    def __init__(self, sureness: float = 1.0) -> None:
        """Begin; `sureness` multiplies every threshold: more is later and more seldom false."""
        self._sureness = sureness
        self._variance = [scale.swing_pa**2 for scale in SCALES]
        self._weight = [PRIOR_WEIGHT] * len(SCALES)
        self.begin_anew()

    def begin_anew(self) -> None:
        """Begin at the first block of a new track; what was learnt of the gauge stays."""
        self._seen = 0
        self._next = [0] * len(SCALES)
        self._lowest_pa: float | None = None
        self._lowest_age = 0

    def error_pa(self, number: int, noise_pa: float) -> float:
        """Give one standard deviation of a scale's difference; `noise_pa` is that of one block."""
        white = noise_pa * noise_pa / SCALES[number].recent
        return float((self._variance[number] + white) ** 0.5)

    def look(self, level: Track, noise_pa: float) -> Shift | None:
        """Give the shift that stands out in the shortest stretch, if one does."""
        self._seen += 1
        found: Shift | None = None
        for number, scale in enumerate(SCALES):
            if len(level) < scale.recent + scale.before:
                break
            base_pa = level.mean(scale.before, scale.recent)
            size_pa = level.mean(scale.recent) - base_pa
            error_pa = self.error_pa(number, noise_pa)
            self._learn(number, size_pa)
            if found is None and size_pa > self._sureness * scale.least_swings * error_pa:
                found = Shift(
                    base_pa=base_pa,
                    size_pa=size_pa,
                    error_pa=error_pa,
                    blocks=scale.recent,
                    base_blocks=scale.before,
                    base_skipped=scale.recent,
                )
        return found or self._crept(level, noise_pa)

    def _crept(self, level: Track, noise_pa: float) -> Shift | None:
        if len(level) < 2 * LOWEST_BLOCKS:
            return None
        mean_pa = level.mean(LOWEST_BLOCKS)
        if self._lowest_pa is None or mean_pa < self._lowest_pa:
            self._lowest_pa, self._lowest_age = mean_pa, 0
        self._lowest_age += 1
        swing_pa = max(LOWEST_SWING_PA, 1.5 * self._variance[3] ** 0.5, noise_pa / 3.0)
        size_pa = mean_pa - self._lowest_pa
        if size_pa <= self._sureness * LOWEST_SWINGS * swing_pa:
            return None
        return Shift(
            base_pa=self._lowest_pa,
            size_pa=size_pa,
            error_pa=swing_pa,
            blocks=LOWEST_BLOCKS,
            base_blocks=LOWEST_BLOCKS,
            base_skipped=min(self._lowest_age - 1, len(level) - LOWEST_BLOCKS),
        )

    def _learn(self, number: int, size_pa: float) -> None:
        """Look once for each stretch that passes, and take a downward swing in.

        At fixed times: the first block of a swing is small, and would teach too little wander.
        """
        if self._seen < self._next[number]:
            return
        self._next[number] = self._seen + SCALES[number].recent
        if size_pa > 0.0:
            return
        weight = self._weight[number] = min(self._weight[number] + 1.0, LONGEST_MEMORY)
        square = min(size_pa * size_pa, CLIP**2 * self._variance[number])
        self._variance[number] += (square - self._variance[number]) / weight
