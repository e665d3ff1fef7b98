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

from firmware_host.vacuum.reading_noise import ReadingNoise

LATE_MARK_S = 30.0
"""A valve mark may come this late (the person's hands are full)."""
PUMPED_PA = 50_000.0
"""A bag below half an atmosphere was pumped down."""
VALVE_BLIP_S = 5.0
"""After shutting, the gauge first sees the valve itself; left out."""
MOST_BLOCKS = 64
FIRST_BLOCK_S = 2.0
RECENT_SAMPLES = 3
KEPT_S = LATE_MARK_S + 5.0
"""Readings are kept one by one for so long: the end of the test may lie among them."""
PAST_FROM_S, PAST_TO_S = 30.0, 8.0
"""A fall is the median of the last three readings against those 8 to 30 s earlier."""
GAP_S = 15.0
"""Across a longer silence the levels on both sides are compared: the valve may have been opened."""


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
    pumped: tuple[float, float] | None = None
    """Time and pressure of the newest reading before the first block: a burst bag is full by then,
    and only this one tells that it was ever pumped down. None where there is none."""


Sample = tuple[float, float, float | None]


class IsolationWindow:
    """Collects the readings of one drop test and finds where the bag was really shut."""

    def __init__(self, start_s: float) -> None:
        self.start_s = start_s
        self.end_s: float | None = None
        """Where the pressure fell back; None while the bag is still shut."""
        self.last_s = start_s
        """Time of the newest reading; the start where there is none."""
        self._last_pa: float | None = None
        self._pumped: tuple[float, float] | None = None
        self._blocks: list[Block] = []
        self._block_s = FIRST_BLOCK_S
        self._block_end_s = start_s
        self._pending: deque[Sample] = deque()
        self._held: Sample | None = None
        """The newest reading, until its successor shows that it does not stand alone."""
        self._before_gap: tuple[float, float] | None = None
        """End of what was seen before a silence, and the level there."""
        self.noise = ReadingNoise()
        self._highest_pa = float("-inf")
        """No reading that is pending lies above this."""

    def add(self, time_s: float, pressure_pa: float, temp_k: float | None) -> None:
        """Take one believed reading; after the fall has been seen nothing more is taken."""
        if self.end_s is not None:
            return
        if time_s < self.start_s + VALVE_BLIP_S:
            self.before(time_s, pressure_pa)
            return
        held, self._held = self._held, (time_s, pressure_pa, temp_k)
        if held is not None and not self._stands_alone(held[1], pressure_pa):
            self._accept(held)

    def before(self, time_s: float, pressure_pa: float) -> None:
        """Take a reading from before the test, or from when the gauge saw the valve itself."""
        if pressure_pa <= PUMPED_PA:
            self._pumped = (time_s - self.start_s, pressure_pa)

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
            noise_pa=self.noise.noise_pa,
            pumped=self._pumped,
        )

    def _stands_alone(self, held_pa: float, next_pa: float) -> bool:
        """Tell whether a reading is far from both its neighbours, while they agree."""
        before_pa = self._last_pa
        if before_pa is None:
            return False
        jump = abs(held_pa - 0.5 * (before_pa + next_pa))
        return jump > self.noise.least_spike_pa and abs(next_pa - before_pa) <= 0.5 * jump

    def _accept(self, sample: Sample) -> None:
        time_s, pressure_pa, _ = sample
        if self._last_pa is not None:
            self.noise.learn(pressure_pa - self._last_pa)
            if time_s - self.last_s > GAP_S and self._before_gap is None:
                self._before_gap = (self.last_s, self._newest_level_pa())
        self.last_s, self._last_pa = time_s, pressure_pa
        pending = self._pending
        pending.append(sample)
        if pressure_pa > self._highest_pa:
            self._highest_pa = pressure_pa
        if self._before_gap is not None:
            self._look_across_gap(*self._before_gap)
        # Only a reading well below one that is pending can be the last of a fall.
        elif self._highest_pa - pressure_pa > self.noise.least_fall_pa:
            self._look_for_fall(time_s)
        while pending and pending[0][0] < time_s - KEPT_S:
            self._store(pending.popleft())

    def _newest_level_pa(self) -> float:
        return median(p for _, p, _ in list(self._pending)[-RECENT_SAMPLES:])

    def _look_for_fall(self, time_s: float) -> None:
        self._highest_pa = max(p for _, p, _ in self._pending)
        past = [p for t, p, _ in self._pending if time_s - PAST_FROM_S <= t <= time_s - PAST_TO_S]
        if len(past) < RECENT_SAMPLES or len(self._pending) < 2 * RECENT_SAMPLES:
            return
        level, needed = median(past), self.noise.least_fall_pa
        if level - self._newest_level_pa() > needed:
            self._end_before_fall(level - needed / 2.0)

    def _look_across_gap(self, gap_s: float, level_pa: float) -> None:
        """Compare the first readings after a silence with the last before it."""
        after = [p for t, p, _ in self._pending if t > gap_s]
        if len(after) < RECENT_SAMPLES:
            return
        self._before_gap = None
        if level_pa - median(after) > self.noise.least_fall_pa:
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
        if sample[0] >= self._block_end_s:
            if len(self._blocks) >= MOST_BLOCKS - 16:
                self._block_s *= 2.0
                self._blocks = _in_pairs(self._blocks, self._block_s, self.start_s)
            slot = _slot(sample[0], self._block_s, self.start_s)
            self._block_end_s = self.start_s + (slot + 1) * self._block_s
            if not self._blocks or _slot_of(self._blocks[-1], self._block_s, self.start_s) != slot:
                self._blocks.append(Block())
        self._blocks[-1].add(*sample)


def _slot(mean_s: float, block_s: float, start_s: float) -> int:
    return int((mean_s - start_s) // block_s)


def _slot_of(block: Block, block_s: float, start_s: float) -> int:
    return _slot(block.time_sum_s / block.samples, block_s, start_s)


def _append(blocks: list[Block], block_s: float, start_s: float, sample: Sample) -> None:
    slot = _slot(sample[0], block_s, start_s)
    if not blocks or _slot_of(blocks[-1], block_s, start_s) != slot:
        blocks.append(Block())
    blocks[-1].add(*sample)


def _in_pairs(blocks: list[Block], block_s: float, start_s: float) -> list[Block]:
    merged: list[Block] = []
    for block in blocks:
        slot = _slot_of(block, block_s, start_s)
        if merged and _slot_of(merged[-1], block_s, start_s) == slot:
            merged[-1].merge(block)
        else:
            merged.append(block)
    return merged
