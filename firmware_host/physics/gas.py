"""Gas laws of an isolated bag. Pure functions; absolute Pa, m3, K.

Sources: [1] rate-of-rise (pressure change) leak testing, EN 13184 / ISO 20485 family (from
memory); the numbers of the examples are recomputed, and checked in the tests against masses of
air from an equation of state.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]


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


def styrene_pressure_pa(temp_k: Array) -> Array:
    """Vapour pressure of styrene.

    ln p = 21.4873326 - 3677.2353 / (T - 49.03); 285 to 418 K; Landolt-Boernstein fit as given in
    the open library thermo. Other published fits differ by 3 %.

    >>> round(float(styrene_pressure_pa(np.array([293.15]))[0]), 1)
    616.5
    """
    return np.asarray(np.exp(21.4873326 - 3677.2353 / (temp_k - 49.03)))
