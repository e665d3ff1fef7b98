"""How the laminate's own warmth has gone: whether it climbs, its peak, and whether that is past.

Pure.
"""

from __future__ import annotations

import math

from firmware_host.cure.known import Temperatures

NO_PEAK_AFTER_S = 3.0 * 3600.0
"""So long after the gel a peak is past, seen or not."""
PEAK_FALL_K, PEAK_FALL_SHARE = 1.5, 0.2
CLIMB_OVER_S, CLIMB_K = 60.0, 0.3


class Warmth:
    """One pour's."""

    def __init__(self) -> None:
        self.peak_rise_k = 0.0
        """Largest rise over the shop since the kick was seen."""
        self.peak_passed = False
        self.climbs = False
        self._minute = (-math.inf, math.inf)
        """When and how warm the laminate was a minute ago."""

    def take(self, temps: Temperatures) -> None:
        """Take in one block."""
        since_s, from_k = self._minute
        if temps.time_s - since_s >= CLIMB_OVER_S:
            self.climbs = temps.laminate_k > from_k + CLIMB_K
            self._minute = (temps.time_s, temps.laminate_k)

    def kick(self, temps: Temperatures, gel_s: float) -> None:
        """Take in one block of a part that has kicked, no lamp on."""
        if self.peak_passed:
            return
        rise_k = temps.laminate_k - temps.shop_k
        self.peak_rise_k = max(self.peak_rise_k, rise_k)
        fallen_k = self.peak_rise_k - rise_k
        faded = fallen_k > max(PEAK_FALL_K, PEAK_FALL_SHARE * self.peak_rise_k)
        self.peak_passed = faded or temps.time_s - gel_s > NO_PEAK_AFTER_S
