"""Proof at the start: with the bag closed and the pump on, the bag must fall, and reach its limit.

Pure. Marks come late and never early, so a bag that has not moved two minutes after both is one
that nothing pulls at. A person may throttle the valve; a bag that still falls is left alone.
"""

from __future__ import annotations

from firmware_host.vacuum.excursion import Cause
from firmware_host.vacuum.track import BLOCK_S, Track

LEAST_FALL_PA = 2000.0
PROVE_S = 120.0
STALLED_S = 900.0
STALLED_BLOCKS = 24
STALLED_SHARE = 0.01
"""A bag that lost less than a hundredth of its pressure in two minutes has come to rest."""
FOLLOWS_SHARE = 0.85
"""A pump side above this share of the bag's pressure is what holds the bag up."""


class StartProof:
    """Watches a bag until it is below its limit for the first time."""

    def __init__(self) -> None:
        self.forget()

    def forget(self) -> None:
        """Begin anew: the bag was opened, or has proved itself."""
        self.cause = Cause.UNKNOWN
        self._bag = Track()
        self._highest_pa: float | None = None

    def block(self, bag_pa: float | None, pump_pa: float | None, pulled_s: float | None) -> Cause:
        """Take a block; `pulled_s` is how long it should have been pulled at, None while not."""
        if bag_pa is None:
            return self.cause
        self._highest_pa = max(self._highest_pa or bag_pa, bag_pa)
        self._bag.add(bag_pa)
        self.cause = self._judge(bag_pa, pump_pa, pulled_s)
        return self.cause

    def _judge(self, bag_pa: float, pump_pa: float | None, pulled_s: float | None) -> Cause:
        if pulled_s is None or pulled_s < PROVE_S or self._highest_pa is None:
            return Cause.UNKNOWN
        if self._highest_pa - bag_pa < LEAST_FALL_PA:
            return Cause.NO_START
        if pulled_s < STALLED_S or len(self._bag) < STALLED_BLOCKS:
            return Cause.UNKNOWN
        falls_pa = -self._bag.slope_per_s(STALLED_BLOCKS) * STALLED_BLOCKS * BLOCK_S
        if falls_pa > STALLED_SHARE * bag_pa:
            return self.cause
        weak = pump_pa is not None and pump_pa > FOLLOWS_SHARE * bag_pa
        return Cause.PUMP_WEAK if weak else Cause.LEAK
