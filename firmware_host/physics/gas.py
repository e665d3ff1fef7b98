"""Gas laws of an isolated bag. Pure functions; absolute Pa, m3, K.

Sources: [1] rate-of-rise (pressure change) leak testing, EN 13184 / ISO 20485 family (from
memory); the numbers of the examples are recomputed, and checked in the tests against masses of
air from an equation of state.
"""

from __future__ import annotations

CRITICAL_RATIO = 0.528282
"""p_down / p_up below which flow of a diatomic gas through a hole no longer depends on p_down:
(2 / (g + 1)) ** (g / (g - 1)) with g = 1.4 (ISO 9300 nozzle theory, from memory)."""


def leak_throughput_pa_m3_per_s(rise_pa_per_s: float, volume_m3: float) -> float:
    """Gas that enters an isolated, rigid, isothermal volume.

    Q = V dp/dt. Ideal gas; below 1 atm air departs from it by less than 0.05 %. [1]

    >>> round(leak_throughput_pa_m3_per_s(3386.389 / 300.0, 0.003), 7)
    0.0338639
    """
    return rise_pa_per_s * volume_m3


def room_air_cm3_per_min(throughput_pa_m3_per_s: float, room_pa: float) -> float:
    """Say a throughput in the words of a workshop: cm3 of room air a minute.

    V' = Q / p_room. [1]

    >>> round(room_air_cm3_per_min(0.0338639, 101325.0), 4)
    20.0526
    """
    if room_pa <= 0.0:
        raise ValueError(f"room pressure {room_pa} Pa must be above 0")
    return throughput_pa_m3_per_s / room_pa * 60.0e6


def highest_choked_pa(room_pa: float) -> float:
    """Bag pressure up to which a hole leaks at a constant rate.

    p = 0.528282 p_room. Above it a leak slows down, and a straight line is no longer its mark.

    >>> round(highest_choked_pa(101325.0), 1)
    53528.2
    """
    return CRITICAL_RATIO * room_pa
