"""The room's pressure on a bench without a barometer: what the bag itself read before pumping.

Pure. The mark that the pump runs may come late or never, so that a bag may already be falling: the
highest level that held for two blocks counts. A single block is a spike and does not.
"""

from __future__ import annotations

LOWEST_ROOM_PA, HIGHEST_ROOM_PA = 60_000.0, 110_000.0
"""Rooms that people work in, from 4000 m above the sea to a mine; anything else is no room."""


class RoomAir:
    """What is known of the room."""

    def __init__(self) -> None:
        self.pressure_pa: float | None = None
        self._before_pa: float | None = None

    def block(self, bag_pa: float | None, *, pumped: bool) -> None:
        """Take the bag's mean over a block; None where nothing believable came."""
        before_pa, self._before_pa = self._before_pa, None if pumped else bag_pa
        if pumped or bag_pa is None or before_pa is None:
            return
        held_pa = min(before_pa, bag_pa)
        if LOWEST_ROOM_PA <= held_pa <= HIGHEST_ROOM_PA:
            self.pressure_pa = max(self.pressure_pa or 0.0, held_pa)
