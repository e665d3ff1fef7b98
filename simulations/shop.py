"""The room: temperature and air pressure that drift as a real shop's do.

Sums of slow waves whose phases come from the seed: the value at a time does not depend on how
often it was asked for.
"""

from __future__ import annotations

import math
import random
from dataclasses import dataclass
from typing import Annotated

from msgspec import Meta

from hardware.units import ZERO_CELSIUS_K

SWING_PERIODS_S = (5400.0, 1700.0)
SWING_SHARES = (0.75, 0.25)


@dataclass(frozen=True, slots=True, kw_only=True)
class ShopSettings:
    """[plant.shop]."""

    temperature_c: Annotated[float, Meta(ge=-20.0, le=50.0)] = 22.0
    drift_c_per_h: Annotated[float, Meta(ge=-10.0, le=10.0)] = -0.1
    swing_c: Annotated[float, Meta(ge=0.0, le=10.0)] = 0.4
    """Heating that goes on and off, a door."""
    pressure_hpa: Annotated[float, Meta(ge=500.0, le=1100.0)] = 1012.0
    pressure_drift_hpa_per_h: Annotated[float, Meta(ge=-10.0, le=10.0)] = -0.3


class Shop:
    """Temperature and pressure of the room at any time."""

    def __init__(self, settings: ShopSettings, rng: random.Random) -> None:
        self._settings = settings
        self._phases = [rng.uniform(0.0, 2.0 * math.pi) for _ in SWING_PERIODS_S]

    def temperature_k(self, time_s: float) -> float:
        """Air temperature near the bench."""
        swing = sum(
            share * math.sin(2.0 * math.pi * time_s / period_s + phase)
            for share, period_s, phase in zip(
                SWING_SHARES, SWING_PERIODS_S, self._phases, strict=True
            )
        )
        base_c = self._settings.temperature_c + self._settings.drift_c_per_h * time_s / 3600.0
        return base_c + self._settings.swing_c * swing + ZERO_CELSIUS_K

    def pressure_pa(self, time_s: float) -> float:
        """Air pressure at the bench."""
        drift_hpa = self._settings.pressure_drift_hpa_per_h * time_s / 3600.0
        return (self._settings.pressure_hpa + drift_hpa) * 100.0
