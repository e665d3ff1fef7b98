"""The bag between its drop tests: air leaking in, and a pump side that does not do its part.

Pure. Fed one block mean every five seconds. While the pump pulls, the level is watched
(`shift.py`), and what raised it is told apart (`excursion.py`). While nothing pulls, between two
starts of a cycling pump, in a drop test or after the pump was switched off, the rise is
(`isolated_rate.py`). A fall of the pressure ends a rise and teaches how fast the pump pulls. Where
readings come more seldom than blocks, what repeats teaches nothing (`cadence.py`).
"""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass

from firmware_host.vacuum.band import Band, BandWatch
from firmware_host.vacuum.cadence import Cadence
from firmware_host.vacuum.excursion import Cause, Excursion, Known
from firmware_host.vacuum.isolated_rate import IsolatedRate, Rate
from firmware_host.vacuum.pull_down import pull_down_tau_s
from firmware_host.vacuum.shift import ShiftDetector
from firmware_host.vacuum.swings import Swings
from firmware_host.vacuum.track import BLOCK_S, Track

SIDE_SHARE = 0.8
"""Bag volume over bag and pump side together: hose and pot beyond the valve hold a quarter of the
bag's volume; a guess until it is measured, common practice, no source."""
USUAL_TAU_S = 15.0
LEAST_FALL_PA = 150.0
FALL_SHARE = 0.04
NOISE_PRIOR_PA = 20.0
QUIET_AFTER = 60
OPEN_SKIPPED = 12
"""Blocks after a valve was opened or a fall ended in which the level is not yet believed."""
SWING_BLOCKS = 12
LOST_BLOCKS = 6
LONGEST_TEST_BLOCKS = 540
CLEAR_BLOCKS = 24


@dataclass(frozen=True, slots=True, kw_only=True)
class Given:
    """What marks and drop tests say of this moment."""

    watched: bool
    """Whether vacuum is wanted and was once reached."""
    shut: bool
    """Whether a drop test runs."""
    pump_on: bool
    band_pa: tuple[float, float] | None
    last_leak: Rate | None
    laminate_k: float | None
    fresh: bool = True
    """Whether the bag was read in this block; else its newest reading is held."""


class FlowWatch:
    """Follows one bag and its pump."""

    def __init__(self, drop_limit_pa_per_s: float) -> None:
        self._limit = drop_limit_pa_per_s
        self.tau_s: float | None = None
        """V / S of the newest pull-down."""
        self.leak: Rate | None = None
        """Leak above the limit, found between drop tests."""
        self.leak_how = ""
        self.trouble: Cause | None = None
        self._isolated = IsolatedRate(drop_limit_pa_per_s, SIDE_SHARE)
        self._shifts = ShiftDetector()
        self._noise_pa = NOISE_PRIOR_PA
        self._noises = 0
        self._cadence = Cadence()
        self._read_pa: deque[float] = deque(maxlen=2)
        """The newest two means of blocks with readings of their own."""
        self._missing = 0
        self._shut = False
        self._quiet_pa = NOISE_PRIOR_PA
        """The noise as it was at its least; what a sawtooth adds is no noise."""
        self._swings = Swings(drop_limit_pa_per_s, SIDE_SHARE)
        self._swinging = False
        self._band = BandWatch(drop_limit_pa_per_s)
        self._reset()

    @property
    def rate(self) -> Rate | None:
        """Rise of the newest stretch in which nothing pulled, as a leak; None where none was."""
        return self._isolated.rate

    def forget_leak(self) -> None:
        """Take what was said before back: a drop test found the bag tight."""
        self.leak = None
        self._reset_level()

    def opened(self, rate: Rate) -> None:
        """Take in a leak that opened while a drop test ran."""
        self.leak, self.leak_how, self._steady = rate, "drop test", 0

    def block(self, bag_pa: float | None, pump_pa: float | None, given: Given) -> None:
        """Take the means of one block."""
        self._cadence.take(fresh=given.fresh)
        if not given.watched:
            self._stop_watching(bag_pa, fresh=given.fresh)
            return
        if bag_pa is None:
            self._miss()
            return
        self._missing = 0
        if given.fresh:
            self._learn_noise(bag_pa)
        knows = self._noises >= QUIET_AFTER and not given.shut
        self._swings.add(bag_pa, self._quiet_pa, given.band_pa if knows else None)
        self._follow(bag_pa, given)
        if not self._falling:
            self._keep(bag_pa, given)
            self._watch(bag_pa, pump_pa, given)

    def _miss(self) -> None:
        self._missing += 1
        if self._missing == LOST_BLOCKS:
            self._begin_rise()
            self._reset_level()

    def _keep(self, bag_pa: float, given: Given) -> None:
        if given.shut and not self._shut:
            self._begin_rise()
        self._shut = given.shut
        self._rise.add(bag_pa)
        if given.fresh:
            self._read_pa.append(bag_pa)
        if given.laminate_k is not None:
            self._temp.add(given.laminate_k)

    def _watch(self, bag_pa: float, pump_pa: float | None, given: Given) -> None:
        if given.shut or not given.pump_on or given.band_pa is not None:
            self._watch_rise(given)
        if given.band_pa is not None and not given.shut:
            band = self._band_of(given.band_pa)
            self._watch_swings(band)
            self._watch_band(pump_pa, band, given)
        elif given.pump_on and (not given.shut or len(self._rise) > LONGEST_TEST_BLOCKS):
            self._watch_level(bag_pa, pump_pa, given)
        else:
            self._since_open = 0

    # --- falls ----------------------------------------------------------------------------------

    def _reset(self) -> None:
        self._fall: list[float] = []
        self._falling = False
        self._band.begin_anew()
        self._steady = 0
        self._begin_rise()
        self._reset_level()

    def _begin_rise(self) -> None:
        self._rise, self._temp = Track(), Track()
        self._read_pa.clear()
        self._band.begin_rise()
        self._isolated.begin_rise()

    def _reset_level(self) -> None:
        self._level: Track = Track()
        self._pump_level: Track = Track()
        self._since_open = 0
        self._excursion: Excursion | None = None
        self._shifts.begin_anew()

    def _stop_watching(self, bag_pa: float | None, *, fresh: bool) -> None:
        """Nothing is judged, but a pull-down is followed from its beginning."""
        if bag_pa is not None and fresh:
            self._fall = [*self._fall[-239:], bag_pa]
        if self.leak or self.trouble or len(self._rise):
            self.leak, self.trouble = None, None
            fall = self._fall
            self._isolated.forget()
            self._reset()
            self._fall = fall
        self._falling = True

    def _least_fall_pa(self, level_pa: float) -> float:
        return max(8.0 * self._noise_pa, LEAST_FALL_PA, FALL_SHARE * level_pa)

    def _follow(self, bag_pa: float, given: Given) -> None:
        """Find where a fall begins and ends."""
        if not self._falling:
            recent = [self._rise.last(k) for k in range(min(len(self._rise), 3))]
            if recent and max(recent) - bag_pa > self._least_fall_pa(max(recent)):
                self._falling, self._fall = True, [*reversed(recent), bag_pa]
            return
        if not given.fresh:
            return
        self._fall = [*self._fall[-239:], bag_pa]
        if len(self._fall) < 4:
            return
        drop_pa = self._fall[-3] - bag_pa
        if drop_pa < max(4.0 * self._noise_pa, 0.02 * bag_pa):
            self._end_fall(given)

    def _end_fall(self, given: Given) -> None:
        fell_pa = max(self._fall) - self._fall[-1]
        if fell_pa > 0.0:
            tau_s = pull_down_tau_s(self._fall, BLOCK_S * self._cadence.blocks)
            self.tau_s = tau_s if tau_s is not None else self.tau_s
        self._falling = False
        self._band.begin_anew()
        self._fall = []
        self._begin_rise()
        if given.band_pa is not None:
            self._came_back()
        # After a drop test the level comes back to where it was; any other fall sets a new one.
        if self._excursion is not None and not self._was_shut_lately():
            self._came_back()
        self._since_open = 0

    def _was_shut_lately(self) -> bool:
        return self._since_open == 0

    def _came_back(self) -> None:
        """Take in that what held the pressure up is over: it fell again."""
        self.trouble = None
        if self._excursion is not None:
            self.leak = None
        self._reset_level()

    # --- nothing pulls --------------------------------------------------------------------------

    def _watch_rise(self, given: Given) -> None:
        if self._isolated.look(self._rise, self._temp, self._noise_pa, shut=given.shut):
            self.leak = self._isolated.rate
            self.leak_how = "drop test" if given.shut else "pump off"
            self._steady = 0
        elif self.leak is not None and self._excursion is None and not self._swinging:
            rate = self._isolated.rate
            low = rate is not None and rate.high_pa_per_s < self._limit
            low = low and (
                given.band_pa is None or self._rise.last() < self._band_of(given.band_pa).rest_pa
            )
            self._steady = self._steady + 1 if low and len(self._rise) > CLEAR_BLOCKS else 0
            if self._steady >= CLEAR_BLOCKS // 2:
                self.leak = None

    def _band_of(self, band_pa: tuple[float, float]) -> Band:
        low_pa, high_pa = band_pa
        return Band(
            low_pa=low_pa, high_pa=high_pa, noise_pa=self._noise_pa, quiet_pa=self._quiet_pa
        )

    def _watch_swings(self, band: Band) -> None:
        level_pa = self._rise.mean(min(len(self._rise), SWING_BLOCKS))
        found = self._swings.leak() if level_pa < band.top_pa else None
        self._swinging = found is not None
        if found is not None:
            self.leak, self.leak_how = found, "pump cycling"

    def _watch_band(self, pump_pa: float | None, band: Band, given: Given) -> None:
        """Follow a pump that should keep the bag within its band."""
        cause = self._band.look(self._rise, pump_pa, band, given.last_leak)
        if self.trouble or self.leak or cause is None:
            return
        if cause is Cause.LEAK:
            self.leak = self._overwhelmed(self._rise.last(), band.low_pa)
            self.leak_how = "pump running"
        else:
            self.trouble = cause

    def _overwhelmed(self, bag_pa: float, low_pa: float) -> Rate:
        """Leak that holds a running pump above its band."""
        rise = (bag_pa - low_pa) / (self.tau_s or USUAL_TAU_S)
        return Rate(rise_pa_per_s=rise, low_pa_per_s=0.5 * rise, high_pa_per_s=2.0 * rise)

    # --- the pump pulls -------------------------------------------------------------------------

    def _watch_level(self, bag_pa: float, pump_pa: float | None, given: Given) -> None:
        self._since_open += 1
        if self._since_open <= OPEN_SKIPPED:
            return
        self._level.add(bag_pa)
        if pump_pa is not None:
            self._pump_level.add(pump_pa)
        elif len(self._pump_level):
            self._pump_level.add(self._pump_level.last())
        if self._excursion is None:
            self._may_begin_excursion()
        if self._excursion is not None:
            self._follow_excursion(self._excursion, given)

    def _may_begin_excursion(self) -> None:
        shift = self._shifts.look(self._level, self._noise_pa)
        if shift is None:
            return
        base_pump = None
        if len(self._pump_level) == len(self._level):
            base_pump = self._pump_level.mean(shift.base_blocks, shift.base_skipped)
        age = shift.base_skipped + shift.base_blocks // 2
        self._excursion = Excursion(shift.base_pa, base_pump, shift.error_pa, age)
        self._excursion.blocks = max(shift.blocks - 4, 0)

    def _follow_excursion(self, found: Excursion, given: Given) -> None:
        known = Known(
            limit_pa_per_s=self._limit,
            tau_s=self.tau_s or USUAL_TAU_S,
            last_leak=given.last_leak,
            noise_pa=self._noise_pa,
        )
        cause = found.look(self._level, self._pump_level if len(self._pump_level) else None, known)
        if found.is_over(self._level):
            self._came_back()
        elif cause is Cause.GAUGES:
            self._reset_level()
        elif cause is Cause.LEAK:
            self.leak = self._running_leak(found, known)
            self.leak_how = "pump running"
        elif cause is not Cause.UNKNOWN:
            self.trouble = cause

    def _running_leak(self, found: Excursion, known: Known) -> Rate:
        old = known.last_leak.rise_pa_per_s if known.last_leak is not None else 0.0
        return Rate(
            rise_pa_per_s=old + found.size_pa / known.tau_s,
            low_pa_per_s=old + max(found.size_pa - 2.0 * found.error_pa, 0.0) / known.tau_s / 1.3,
            high_pa_per_s=old + (found.size_pa + 2.0 * found.error_pa) / known.tau_s * 1.3,
        )

    def _learn_noise(self, bag_pa: float) -> None:
        """Follow the median size of second differences of block means; white noise makes 1.65 s.

        Of readings that fill c blocks each it is s sqrt(c) that goes into means over blocks.
        """
        if len(self._read_pa) < 2 or self._falling:
            return
        self._noises = min(self._noises + 1, 200)
        gain = max(0.02, 1.0 / (2.0 + self._noises))
        before_pa, last_pa = self._read_pa
        bend_pa = abs(bag_pa - 2.0 * last_pa + before_pa)
        larger = bend_pa * self._cadence.blocks**0.5 > 1.652 * self._noise_pa
        self._noise_pa = max(self._noise_pa * (1.0 + (gain if larger else -gain)), 1.0)
        if self._noises >= QUIET_AFTER:
            first = self._noises == QUIET_AFTER
            self._quiet_pa = self._noise_pa if first else min(self._noise_pa, self._quiet_pa)
