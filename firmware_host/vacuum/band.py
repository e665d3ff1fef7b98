"""A pump that keeps its bag within a band, and what shows that it no longer does.

Pure. Four signatures, each told from what a sound bench does:

    above the band for a minute, slowly   the pump does not start, or pulls less
    bag rises, pump side does not         hose pinched or blocked, valve shut by hand
    fast rise, then still at the top      the pump runs in vain: a leak
    gauges apart and steady               air flows on to the pump: the same leak, lower down

While a pump rests, both gauges read the same but for their own difference, which is learnt.
"""

from __future__ import annotations

from dataclasses import dataclass

from firmware_host.vacuum.excursion import Cause
from firmware_host.vacuum.isolated_rate import Rate, slope_error_pa_per_s
from firmware_host.vacuum.track import BLOCK_S, Track

TOP_SHARE, TOP_PA = 1.12, 400.0
"""How far above the top of its band a pump may start, gauges and hose included."""
LATE_BLOCKS = 12
NEAR_TOP, FAST_LIMITS, HELD_BLOCKS = 0.93, 5.0, 30
FAST_BLOCKS, STEP_BLOCKS, ARRIVAL_BLOCKS = 24, 4, 6
LEAST_APART_PA, APART_NOISES = 150.0, 6.0
STEADY_SHARE, CAME_SHARE = 1.2, 0.3
ALONE_BLOCKS, ALONE_SHARE = 180, 0.7


@dataclass(frozen=True, slots=True, kw_only=True)
class Band:
    """The band of a bench, and how still its gauge is."""

    low_pa: float
    high_pa: float
    noise_pa: float
    quiet_pa: float

    @property
    def rest_pa(self) -> float:
        """Pressure above which a pump may be running in vain, however still the level."""
        return self.low_pa + 0.3 * (self.high_pa - self.low_pa)

    @property
    def top_pa(self) -> float:
        """Pressure below which a cycling pump surely starts."""
        return TOP_SHARE * self.high_pa + TOP_PA


class BandWatch:
    """Follows one rise after another, a block at a time."""

    def __init__(self, limit_pa_per_s: float) -> None:
        self._limit = limit_pa_per_s
        self._even_pa: float | None = None
        """What the bag's gauge reads above the pump's while nothing flows."""
        self.begin_rise()
        self.begin_anew()

    def begin_anew(self) -> None:
        """Begin with a bag that has just been pulled down."""
        self._above = self._held = self._flows = 0

    def begin_rise(self) -> None:
        """Begin a rise: the pressure has fallen, or the bag was shut."""
        self._apart = Track()

    def look(
        self, rise: Track, pump_pa: float | None, band: Band, last_leak: Rate | None
    ) -> Cause | None:
        """Judge one more block of a rise; None where all is as it should be."""
        bag_pa = rise.last()
        self._above = self._above + 1 if bag_pa > band.top_pa + 5.0 * band.quiet_pa else 0
        self._compare(rise, pump_pa, band)
        held = self._held_near_top(rise, band)
        if held or self._runs_in_vain():
            return Cause.LEAK
        if self._above >= LATE_BLOCKS:
            return self._judge_late(rise, pump_pa, band)
        return Cause.CUT_OFF if self._rises_alone(rise, band, last_leak) else None

    def _judge_late(self, rise: Track, pump_pa: float | None, band: Band) -> Cause | None:
        """Say why the pressure does not fall although the pump should have started."""
        half = LATE_BLOCKS // 2
        risen_pa = rise.mean(half) - rise.mean(half, half)
        if self._came_fast(rise):
            return Cause.LEAK
        if pump_pa is not None and pump_pa < band.high_pa:
            return Cause.CUT_OFF
        late = risen_pa > 3.0 * band.noise_pa or self._above >= 2 * LATE_BLOCKS
        return Cause.PUMP_WEAK if late else None

    def _came_fast(self, rise: Track) -> bool:
        """Tell whether it rose faster than a bag that is only cut off from its pump."""
        blocks = min(len(rise), FAST_BLOCKS) - 1
        risen_pa = rise.last() - rise.last(blocks)
        return risen_pa > FAST_LIMITS * self._limit * blocks * BLOCK_S

    # --- both gauges ----------------------------------------------------------------------------

    def _compare(self, rise: Track, pump_pa: float | None, band: Band) -> None:
        """Hold the gauges against each other, and count for how long air has flowed to the pump."""
        if pump_pa is None or len(rise) <= STEP_BLOCKS:
            self._flows = 0
            return
        apart_pa, sure_pa = rise.last() - pump_pa, APART_NOISES * band.noise_pa
        if self._even_pa is None:
            self._even_pa = apart_pa
        apart_pa -= self._even_pa
        if abs(apart_pa) < sure_pa:
            self._even_pa += 0.02 * apart_pa
        self._apart.add(apart_pa)
        if apart_pa < max(sure_pa, LEAST_APART_PA):
            self._flows = 0
        elif self._flows or self._began_to_flow(rise, pump_pa, band):
            self._flows += 1

    def _began_to_flow(self, rise: Track, pump_pa: float, band: Band) -> bool:
        """Tell whether a leak may just have set in, rather than a hose been pinched.

        Behind a pinched hose the pump side does reach the low end of the band, and the gauges come
        apart slowly.
        """
        if rise.slope_per_s(STEP_BLOCKS) > FAST_LIMITS * self._limit:
            return True
        at_once = len(self._apart) <= FAST_BLOCKS
        at_once = at_once or self._apart.last(FAST_BLOCKS) < CAME_SHARE * self._apart.last()
        return at_once and pump_pa > band.low_pa + TOP_PA

    def _runs_in_vain(self) -> bool:
        if self._flows < HELD_BLOCKS:
            return False
        half = HELD_BLOCKS // 2
        if self._apart.mean(half) > STEADY_SHARE * self._apart.mean(half, half):
            self._flows = 0
        return self._flows > 0

    def _rises_alone(self, rise: Track, band: Band, last_leak: Rate | None) -> bool:
        """Tell whether the bag rises as it does when shut, and its pump side does not follow.

        A gauge that drifts would do the same: only a rise is taken that a drop test has seen.
        """
        blocks = min(len(self._apart), ALONE_BLOCKS)
        if blocks <= FAST_BLOCKS or last_leak is None:
            return False
        if self._apart.mean(FAST_BLOCKS) < max(APART_NOISES * band.noise_pa, LEAST_APART_PA):
            return False
        bag, apart = rise.slope_per_s(blocks), self._apart.slope_per_s(blocks)
        sure = bag > 3.0 * slope_error_pa_per_s(blocks, band.noise_pa)
        return sure and apart > ALONE_SHARE * bag and last_leak.explains(bag)

    # --- the bag alone --------------------------------------------------------------------------

    def _held_near_top(self, rise: Track, band: Band) -> bool:
        """Tell whether it came fast to the top of the band and stays: the pump runs in vain."""
        near = rise.last() > NEAR_TOP * band.high_pa
        if near and not self._held and len(rise) > ARRIVAL_BLOCKS:
            fast = rise.slope_per_s(ARRIVAL_BLOCKS) > FAST_LIMITS * self._limit
            self._held = 1 if fast else 0
        elif self._held:
            self._held = self._held + 1 if near else 0
        return self._held >= HELD_BLOCKS
