"""The vacuum pump: it moves a volume per second down to the lowest pressure it can reach.

A check valve keeps air from running back; `back_leak` says how badly. A pump on a band is switched
by the pressure at its own inlet.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Annotated

from msgspec import Meta


@dataclass(frozen=True, slots=True, kw_only=True)
class PumpSettings:
    """[plant.pump]."""

    speed_m3_per_h: Annotated[float, Meta(gt=0.0, le=1000.0)] = 1.5
    ultimate_pa: Annotated[float, Meta(ge=0.0, le=90000.0)] = 1500.0
    side_volume_l: Annotated[float, Meta(gt=0.0, le=100.0)] = 0.8
    """Hose and trap between pump and valve."""
    back_leak_pa_m3_per_s: Annotated[float, Meta(ge=0.0, le=1000.0)] = 0.0
    """Air through the check valve of a standing pump, while choked."""


class Pump:
    """A pump with a switch, wear and an optional pressure band."""

    def __init__(self, settings: PumpSettings) -> None:
        self.settings = settings
        self.switched_on = False
        self.running = False
        self._band_pa: tuple[float, float] | None = None

    def switch(self, *, on: bool) -> None:
        """Throw the switch; on a band the pressure then decides whether it turns."""
        self.switched_on = on
        self.running = on

    def cycle(self, low_pa: float, high_pa: float) -> None:
        """Run only between these inlet pressures: start above `high_pa`, stop below `low_pa`."""
        self._band_pa = (low_pa, high_pa)

    def run_free(self) -> None:
        """Leave the band; a pump that is switched on turns."""
        self._band_pa = None
        self.running = self.switched_on

    def wear(self, *, speed_share: float, ultimate_pa: float) -> None:
        """From now on it moves this share of its speed and reaches only `ultimate_pa`."""
        speed_m3_per_h = self.settings.speed_m3_per_h * speed_share
        self.settings = replace(
            self.settings, speed_m3_per_h=speed_m3_per_h, ultimate_pa=ultimate_pa
        )

    def speed_m3_per_s(self, inlet_pa: float) -> float:
        """Volume moved at the part of the pressure above its ultimate; 0 while it does not pull."""
        self._follow_band(inlet_pa)
        if not self.running or inlet_pa <= self.settings.ultimate_pa:
            return 0.0
        return self.settings.speed_m3_per_h / 3600.0

    def _follow_band(self, inlet_pa: float) -> None:
        if self._band_pa is None or not self.switched_on:
            return
        low_pa, high_pa = self._band_pa
        if self.running and inlet_pa <= low_pa:
            self.running = False
        elif not self.running and inlet_pa >= high_pa:
            self.running = True
