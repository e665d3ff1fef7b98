"""The film of the bag: how much room the gas has at a pressure.

Pulled down, the film lies on the breather and the volume is that of the job description; the
breather springs back a little on the way up, and near room pressure the film stands off the part.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Film:
    """Volume of the closed bag as a function of its pressure."""

    deep_m3: float
    spring_share: float
    """Relative growth between vacuum and room pressure."""
    lifted_share: float
    """Further relative growth when the film stands off."""
    lift_begins: float
    """Share of room pressure above which it does."""

    def volume_and_slope(self, bag_pa: float, room_pa: float) -> tuple[float, float]:
        """Free volume in m3, and what it gains per Pa."""
        spring = self.spring_share / room_pa
        share, slope = 1.0 + spring * bag_pa, spring
        begins_pa = self.lift_begins * room_pa
        if bag_pa > begins_pa:
            lifted = (bag_pa - begins_pa) / (room_pa - begins_pa)
            share += self.lifted_share * lifted * lifted
            slope += self.lifted_share * 2.0 * lifted / (room_pa - begins_pa)
        return self.deep_m3 * share, self.deep_m3 * slope

    def pressure_pa(self, content_pa_m3: float, guess_pa: float, room_pa: float) -> float:
        """Pressure at which the bag holds this content; Newton from a close guess."""
        pressure_pa = max(1.0, guess_pa)
        for _ in range(6):
            volume_m3, slope = self.volume_and_slope(pressure_pa, room_pa)
            move_pa = (content_pa_m3 - pressure_pa * volume_m3) / (volume_m3 + pressure_pa * slope)
            pressure_pa = max(1.0, pressure_pa + move_pa)
            if abs(move_pa) < 1e-6:
                break
        return pressure_pa
