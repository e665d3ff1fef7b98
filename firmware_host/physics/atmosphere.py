"""The standard atmosphere: what a barometer usually shows at an altitude. Pure.

Source: US Standard Atmosphere 1976 / ISO 2533, below 11 km.
"""

from __future__ import annotations

SEA_LEVEL_PA = 101325.0
SEA_LEVEL_K = 288.15
LAPSE_K_PER_M = 0.0065
EXPONENT = 9.80665 * 0.0289644 / (8.31432 * LAPSE_K_PER_M)
"""g M / (R L) with the constants of the standard, not those of today: 5.25588."""
HIGHEST_M = 11000.0


def standard_pressure_pa(altitude_m: float) -> float:
    """Pressure of the standard atmosphere at a geopotential altitude.

    p = 101325 (1 - 0.0065 h / 288.15)^5.25588; -610 m to 11 km; weather moves it by some 2.5 % at
    sea level. Raises ValueError beyond.

    >>> round(standard_pressure_pa(1600.0), 1)
    83523.5
    """
    if not -610.0 <= altitude_m <= HIGHEST_M:
        raise ValueError(f"altitude {altitude_m:g} m must lie between -610 and {HIGHEST_M:g}")
    return float(SEA_LEVEL_PA * (1.0 - LAPSE_K_PER_M * altitude_m / SEA_LEVEL_K) ** EXPONENT)
