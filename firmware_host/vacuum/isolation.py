"""The span in which a bag is shut off from its pump, found in the readings and kept small.

Pure. A valve is marked shut by a busy person and opened again before the mark says so; the span
ends where the pressure falls back, whatever the mark. A single reading that stands alone is left
out. Samples become block means, at most 64 of them however long the test runs, so that its cost
does not grow.
"""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass, replace
from statistics import median

LATE_MARK_S = 30.0
"""A valve mark may come this late (the person's hands are full)."""
VALVE_BLIP_S = 5.0
"""After shutting, the gauge first sees the valve itself; left out."""
MOST_BLOCKS = 64
FIRST_BLOCK_S = 2.0
RECENT_SAMPLES = 3
PAST_FROM_S, PAST_TO_S = 30.0, 8.0
"""A fall is the median of the last three readings against those 8 to 30 s earlier."""
FALL_SIGMAS = 5.0
FALL_STEPS = 3.0
LEAST_FALL_PA = 60.0
CODE_REFRESH = 8
CODE_FALLS, CODE_SHARE = 2.5, 0.97
"""A fall is at least this many of the largest usual differences: two codes of a coarse converter,
also where the ripple of its supply hides the code from the smallest difference and the median."""
DIFFERENCES_KEPT = 400
GAP_S = 15.0
"""Across a longer silence the levels on both sides are compared: the valve may have been opened."""
SPIKE_SIGMAS, SPIKE_STEPS, LEAST_SPIKE_PA = 8.0, 3.0, 100.0


@dataclass(slots=True)
class Block:
    """Sums over a stretch of samples."""

    samples: int = 0
    time_sum_s: float = 0.0
    pressure_sum_pa: float = 0.0
    temp_samples: int = 0
    temp_sum_k: float = 0.0

    def add(self, time_s: float, pressure_pa: float, temp_k: float | None) -> None:
        """Take one sample in."""
        self.samples += 1
        self.time_sum_s += time_s
        self.pressure_sum_pa += pressure_pa
        if temp_k is not None:
            self.temp_samples += 1
            self.temp_sum_k += temp_k

    def merge(self, other: Block) -> None:
        """Take a neighbour in."""
        self.samples += other.samples
        self.time_sum_s += other.time_sum_s
        self.pressure_sum_pa += other.pressure_sum_pa
        self.temp_samples += other.temp_samples
        self.temp_sum_k += other.temp_sum_k


@dataclass(frozen=True, slots=True, kw_only=True)
class Span:
    """An isolated span as block means; times count from `start_s`."""

    start_s: float
    end_s: float
    time_s: tuple[float, ...]
    pressure_pa: tuple[float, ...]
    samples: tuple[int, ...]
    temp_k: tuple[float | None, ...]
    noise_pa: float
    """One standard deviation of a single reading, learnt from this span's first differences."""


Sample = tuple[float, float, float | None]


class IsolationWindow:
    """Collects the readings of one drop test and finds where the bag was really shut."""

    def __init__(self, start_s: float) -> None:
        self.start_s = start_s
        self.end_s: float | None = None
        """Where the pressure fell back; None while the bag is still shut."""
        self._blocks: list[Block] = []
        self._block_s = FIRST_BLOCK_S
        self._pending: deque[Sample] = deque()
        self._last: Sample | None = None
        self._held: Sample | None = None
        """The newest reading, until its successor shows that it does not stand alone."""
        self._before_gap: tuple[float, float] | None = None
        """End of what was seen before a silence, and the level there."""
        self._differences: list[float] = []
        self._spread_pa: float | None = None
        self._step_pa = 0.0
        self._code: tuple[int, float] | None = None
        """Differences seen, and the usual large one among them."""

    @property
    def last_s(self) -> float:
        """Time of the newest reading; the start where there is none."""
        return self._last[0] if self._last else self.start_s

    def add(self, time_s: float, pressure_pa: float, temp_k: float | None) -> None:
        """Take one believed reading; after the fall has been seen nothing more is taken."""
        if self.end_s is not None or time_s < self.start_s + VALVE_BLIP_S:
            return
        held, self._held = self._held, (time_s, pressure_pa, temp_k)
        if held is not None and not self._stands_alone(held, pressure_pa):
            self._accept(held)

    def noise_pa(self) -> float:
        """Noise of one reading: robust spread of first differences, and the converter's step."""
        if len(self._differences) < 5:
            return max(20.0, self._step_pa)
        spread = self._spread_pa
        if spread is None:
            spread = _spread_pa(self._differences)
        if len(self._differences) == DIFFERENCES_KEPT:
            self._spread_pa = spread
        return float((spread**2 + self._step_pa**2 / 12.0 + 1.0) ** 0.5)

    def span(self, trim_end_s: float | None = None) -> Span | None:
        """Return what was seen so far, up to `trim_end_s`; None with fewer than three blocks."""
        end_s = self.end_s if self.end_s is not None else self.last_s
        if trim_end_s is not None:
            end_s = min(end_s, trim_end_s)
        blocks = [replace(block) for block in self._blocks]
        for time_s, pressure_pa, temp_k in self._pending:
            if time_s <= end_s:
                _append(blocks, self._block_s, self.start_s, (time_s, pressure_pa, temp_k))
        if len(blocks) < 3:
            return None
        return Span(
            start_s=self.start_s,
            end_s=end_s,
            time_s=tuple(b.time_sum_s / b.samples - self.start_s for b in blocks),
            pressure_pa=tuple(b.pressure_sum_pa / b.samples for b in blocks),
            samples=tuple(b.samples for b in blocks),
            temp_k=tuple(b.temp_sum_k / b.temp_samples if b.temp_samples else None for b in blocks),
            noise_pa=self.noise_pa(),
        )

    def _accept(self, sample: Sample) -> None:
        if self._last is not None:
            self._learn(sample[1] - self._last[1])
            if self._before_gap is None and sample[0] - self._last[0] > GAP_S:
                self._before_gap = (self._last[0], self._newest_level_pa())
        self._last = sample
        self._pending.append(sample)
        self._look_for_fall(sample[0])
        while self._pending and self._pending[0][0] < sample[0] - LATE_MARK_S - 5.0:
            self._store(self._pending.popleft())

    def _stands_alone(self, held: Sample, next_pa: float) -> bool:
        """Tell whether a reading is far from both its neighbours, while they agree."""
        if self._last is None:
            return False
        before_pa = self._last[1]
        jump = abs(held[1] - 0.5 * (before_pa + next_pa))
        needed = max(SPIKE_SIGMAS * self.noise_pa(), SPIKE_STEPS * self._step_pa, LEAST_SPIKE_PA)
        return jump > needed and abs(next_pa - before_pa) <= 0.5 * jump

    def _learn(self, difference_pa: float) -> None:
        size = abs(difference_pa)
        if size > 0.05 and (self._step_pa == 0.0 or size < self._step_pa):
            self._step_pa = size
        if len(self._differences) < DIFFERENCES_KEPT:
            self._differences.append(difference_pa)

    def _newest_level_pa(self) -> float:
        return median(p for _, p, _ in list(self._pending)[-RECENT_SAMPLES:])

    def _least_fall_pa(self) -> float:
        return max(
            FALL_SIGMAS * self.noise_pa(),
            FALL_STEPS * self._step_pa,
            CODE_FALLS * self._code_pa(),
            LEAST_FALL_PA,
        )

    def _code_pa(self) -> float:
        """Give the size of a usual large difference, a steady rise taken off."""
        count = len(self._differences)
        if count < 5:
            return 0.0
        if self._code is not None and self._code[0] // CODE_REFRESH == count // CODE_REFRESH:
            return self._code[1]
        rise = median(self._differences)
        sizes = sorted(abs(d - rise) for d in self._differences)
        self._code = (count, sizes[min(int(CODE_SHARE * count), count - 1)])
        return self._code[1]

    def _look_for_fall(self, time_s: float) -> None:
        if self._before_gap is not None:
            self._look_across_gap(*self._before_gap)
            return
        past = [p for t, p, _ in self._pending if time_s - PAST_FROM_S <= t <= time_s - PAST_TO_S]
        if len(past) < RECENT_SAMPLES or len(self._pending) < 2 * RECENT_SAMPLES:
            return
        level, needed = median(past), self._least_fall_pa()
        if level - self._newest_level_pa() > needed:
            self._end_before_fall(level - needed / 2.0)

    def _look_across_gap(self, gap_s: float, level_pa: float) -> None:
        """Compare the first readings after a silence with the last before it."""
        after = [p for t, p, _ in self._pending if t > gap_s]
        if len(after) < RECENT_SAMPLES:
            return
        self._before_gap = None
        if level_pa - median(after) > self._least_fall_pa():
            self._pending = deque(sample for sample in self._pending if sample[0] <= gap_s)
            self.end_s = gap_s

    def _end_before_fall(self, floor_pa: float) -> None:
        while self._pending and self._pending[-1][1] < floor_pa:
            self._pending.pop()
        # The reading in front of the fall may already be on its way down.
        if len(self._pending) > 1:
            self._pending.pop()
        self.end_s = self._pending[-1][0] if self._pending else self.start_s

    def _store(self, sample: Sample) -> None:
        _append(self._blocks, self._block_s, self.start_s, sample)
        if len(self._blocks) > MOST_BLOCKS - 16:
            self._block_s *= 2.0
            self._blocks = _in_pairs(self._blocks, self._block_s, self.start_s)


def _spread_pa(differences: list[float]) -> float:
    """Noise of one reading from first differences; a steady rise is no noise."""
    rise = median(differences)
    spread = median(abs(d - rise) for d in differences) / 0.6745 / 2.0**0.5
    if spread > 0.0:
        return float(spread)
    # Where most differences are alike (coarse step) the median says nothing; the mean square does.
    return float((sum((d - rise) ** 2 for d in differences) / len(differences) / 2.0) ** 0.5)


def _slot(mean_s: float, block_s: float, start_s: float) -> int:
    return int((mean_s - start_s) // block_s)


def _append(blocks: list[Block], block_s: float, start_s: float, sample: Sample) -> None:
    slot = _slot(sample[0], block_s, start_s)
    if not blocks or _slot(blocks[-1].time_sum_s / blocks[-1].samples, block_s, start_s) != slot:
        blocks.append(Block())
    blocks[-1].add(*sample)


def _in_pairs(blocks: list[Block], block_s: float, start_s: float) -> list[Block]:
    merged: list[Block] = []
    for block in blocks:
        slot = _slot(block.time_sum_s / block.samples, block_s, start_s)
        if merged and _slot(merged[-1].time_sum_s / merged[-1].samples, block_s, start_s) == slot:
            merged[-1].merge(block)
        else:
            merged.append(block)
    return merged
