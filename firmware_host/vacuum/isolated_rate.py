"""How fast a bag rises that no pump pulls at, from block means, and what that says of a leak.

Pure. Settling and outgassing only slow down: a rise that grows steeper is a leak that opened, once
warmth is taken off. A rise that was steep from the start is put to the judge of the drop test,
which weighs it against settling as slow as an hour. Warmth is taken off at its most: all gas as
warm as the laminate, vapour always saturated; a leak is then called later, never wrongly.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from firmware_host.physics.gas import styrene_pressure_pa
from firmware_host.vacuum.isolation import Span
from firmware_host.vacuum.rise import estimate_rise
from firmware_host.vacuum.track import BLOCK_S, Track

WINDOWS = (6, 12, 24, 60)
SKIPPED = 4
"""Blocks after a fall in which gas mixes and warms back: twenty seconds."""
WALK_PA2_PER_S = 10.0
"""Wander of a gauge over a minute or two, as a random walk."""
SURE_SIGMAS = 6.0
STEEPER_SHARE = 0.7
"""A rise that grew by this share of the limit is looked at as a leak that opened."""
MOST_SPAN_BLOCKS = 48
LEAST_JUDGED = 18
JUDGE_EVERY, JUDGE_GROWTH = 6, 0.15
SURE = 0.999
"""An alarm wants more than a verdict: it is asked for all night, and nobody asked."""
REFERENCE = 24
STRAIGHT_SHARE = 0.5
JUMP_BLOCKS = 2
"""A rise that is only its last ten seconds is a jump: a second bag was let onto the line."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Rate:
    """Air that leaks in, as the rise it makes in the shut bag."""

    rise_pa_per_s: float
    low_pa_per_s: float
    high_pa_per_s: float

    def explains(self, rise_pa_per_s: float) -> bool:
        """Tell whether a rise may be this leak's, give or take settling and a gauge's wander."""
        return 0.4 * self.low_pa_per_s < rise_pa_per_s < 1.5 * self.high_pa_per_s


def slope_error_pa_per_s(blocks: int, noise_pa: float) -> float:
    """Give one standard deviation of a slope over block means.

    white: s / (d sqrt(n (n^2 - 1) / 12)); walk of q: sqrt(6 q / (5 T)).

    >>> round(slope_error_pa_per_s(60, 0.0), 3)
    0.2
    """
    white = noise_pa / (BLOCK_S * (blocks * (blocks * blocks - 1) / 12.0) ** 0.5)
    walk = 6.0 * WALK_PA2_PER_S / (5.0 * blocks * BLOCK_S)
    return float((white * white + walk) ** 0.5)


@dataclass(frozen=True, slots=True)
class _Least:
    """The smallest rise that was seen, and how long after the start of its phase."""

    rise_pa_per_s: float
    error_pa_per_s: float
    age_blocks: int


class IsolatedRate:
    """Follows the rises between falls of the pressure."""

    def __init__(self, limit_pa_per_s: float, share: float, sureness: float = 1.0) -> None:
        self._limit = limit_pa_per_s
        self._sure_sigmas = sureness * SURE_SIGMAS
        """More is later and more seldom false."""
        self._share = share
        """The bag's volume over all the volume that rises with it while the valve is open."""
        self.rate: Rate | None = None
        """Of the newest stretch that tells."""
        self.forget()

    def begin_rise(self) -> None:
        """Begin anew: the pressure has fallen."""
        self._now: _Least | None = None
        """Smallest rise of this phase."""
        self._steep = 0
        """Blocks for which it has been as steep as half the limit."""
        self._next_judged = LEAST_JUDGED
        self.rate = None

    def forget(self) -> None:
        """Forget the bag: it is another, or was opened."""
        self._before: dict[int, _Least] = {}
        """Smallest rise of all phases, by how old the phase was."""
        self.begin_rise()

    def look(self, bag: Track, temp: Track, noise_pa: float, *, shut: bool) -> bool:
        """Judge the rise so far; tells whether it is surely a leak above the limit."""
        share = 1.0 if shut else self._share
        usable = len(bag) - SKIPPED
        if usable < WINDOWS[0]:
            return False
        found: Rate | None = None
        for blocks in WINDOWS:
            if usable < blocks:
                break
            error = slope_error_pa_per_s(blocks, noise_pa)
            warmth = _warmth_pa_per_s(bag, temp, blocks)
            rise = bag.slope_per_s(blocks) - warmth
            self.rate = _rate(rise, 2.0 * error, share)
            above = rise - 0.5 * self._sure_sigmas * error > self._limit * share
            if found is None and above and self._grew(bag, blocks, rise, error, shut=shut):
                found = self.rate
        self._follow_steepness(bag, share)
        leaks = found is not None or self._judged(bag, temp, noise_pa, share)
        self.rate = found or self.rate
        self._keep_least(bag, usable, noise_pa)
        return leaks

    def _grew(self, bag: Track, blocks: int, rise: float, error: float, *, shut: bool) -> bool:
        """Tell whether the rise is steeper than it was, and steady rather than one jump."""
        least = self._reference(len(bag) - blocks, shut=shut)
        if least is None:
            return False
        needed = STEEPER_SHARE * self._limit * self._share
        needed += self._sure_sigmas * (error**2 + least.error_pa_per_s**2) ** 0.5
        half = blocks // 2
        steady = min(bag.slope_per_s(half), bag.slope_per_s(half, half)) > STRAIGHT_SHARE * rise
        return rise - least.rise_pa_per_s > needed and steady

    def _reference(self, age_blocks: int, *, shut: bool) -> _Least | None:
        """Give an earlier rise that settling could only have made smaller by now.

        In this phase, where surely nothing pulled; in another that was no older then.
        """
        known = [one for one in self._before.values() if one.age_blocks <= age_blocks]
        now = self._now
        if now is not None and (shut or now.rise_pa_per_s > 2.0 * now.error_pa_per_s):
            known.append(now)
        return min(known, key=lambda one: one.rise_pa_per_s, default=None)

    def _follow_steepness(self, bag: Track, share: float) -> None:
        rise = bag.slope_per_s(WINDOWS[0])
        if rise > 0.5 * self._limit * share:
            self._steep += 1
        elif rise < 0.25 * self._limit * share:
            self._steep, self._next_judged = 0, LEAST_JUDGED

    def _judged(self, bag: Track, temp: Track, noise_pa: float, share: float) -> bool:
        """Ask the judge of the drop test about a rise that was steep from its start."""
        count = min(self._steep, len(bag) - SKIPPED)
        if count < self._next_judged:
            return False
        limit = self._limit * share + _warmth_pa_per_s(bag, temp, count)
        error = slope_error_pa_per_s(count, noise_pa)
        steady = min(bag.slope_per_s(count), bag.slope_per_s(count - JUMP_BLOCKS, JUMP_BLOCKS))
        if steady - 3.0 * error <= limit:
            return False
        self._next_judged = count + max(JUDGE_EVERY, int(JUDGE_GROWTH * count))
        found = estimate_rise(_span(bag, count, noise_pa), limit)
        if found is None:
            return False
        self.rate = Rate(
            rise_pa_per_s=found.rise_pa_per_s / share,
            low_pa_per_s=found.low_pa_per_s / share,
            high_pa_per_s=found.high_pa_per_s / share,
        )
        return found.chance_above_limit >= SURE

    def _keep_least(self, bag: Track, usable: int, noise_pa: float) -> None:
        if usable < REFERENCE:
            return
        rise = max(bag.slope_per_s(REFERENCE), 0.0)
        seen = _Least(rise, slope_error_pa_per_s(REFERENCE, noise_pa), len(bag) - REFERENCE)
        if self._now is None or rise < self._now.rise_pa_per_s:
            self._now = seen
        if rise <= 2.0 * seen.error_pa_per_s:
            return
        age = seen.age_blocks.bit_length()
        if age not in self._before or rise < self._before[age].rise_pa_per_s:
            self._before[age] = seen


def _rate(rise: float, spread: float, share: float) -> Rate:
    return Rate(
        rise_pa_per_s=max(rise, 0.0) / share,
        low_pa_per_s=max(rise - spread, 0.0) / share,
        high_pa_per_s=max(rise + spread, 0.0) / share,
    )


def _warmth_pa_per_s(bag: Track, temp: Track, blocks: int) -> float:
    """Rise that warming makes at most: all gas follows the laminate, vapour is saturated."""
    if len(temp) < blocks or len(temp) != len(bag):
        return 0.0
    warming = temp.slope_per_s(blocks)
    if warming <= 0.0:
        return 0.0
    mean_k = temp.mean(blocks)
    low, high = styrene_pressure_pa(np.array([mean_k, mean_k + 1.0]))
    return warming * (float(high - low) + bag.mean(blocks) / mean_k)


def _span(bag: Track, count: int, noise_pa: float) -> Span:
    """Put the last `count` blocks into a span of at most 48."""
    size = -(-count // MOST_SPAN_BLOCKS)
    pooled = count // size
    starts = [i * size for i in range(pooled)]
    return Span(
        start_s=0.0,
        end_s=count * BLOCK_S,
        time_s=tuple((start + 0.5 * size) * BLOCK_S for start in starts),
        pressure_pa=tuple(bag.mean(size, count - start - size) for start in starts),
        samples=(size,) * pooled,
        temp_k=(None,) * pooled,
        noise_pa=max(noise_pa, 1.0),
    )
