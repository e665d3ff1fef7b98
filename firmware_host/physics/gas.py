"""Gas laws of an isolated bag. Pure functions; absolute Pa, m3, K.

Sources: [1] rate-of-rise (pressure change) leak testing, EN 13184 / ISO 20485 family (from
memory); the numbers of the examples are recomputed, and checked in the tests against masses of
air from an equation of state.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]

GAS_CONSTANT_J_PER_MOLK = 8.31446261815324
"""SI 2019, exact."""


@dataclass(frozen=True, slots=True, kw_only=True)
class GasPart:
    """A part of the bag's gas that has one temperature."""

    volume_m3: float
    temp_k: float


def moles_per_pa(parts: Sequence[GasPart]) -> float:
    """Moles of ideal gas that a bag with warm and cool parts holds for each Pa.

    n / p = sum(V_i / T_i) / R. Below 1 atm air departs from it by less than 0.05 %. Raises
    ValueError for a part without volume or warmth. [1]

    >>> bag = (GasPart(volume_m3=0.003, temp_k=293.15),)
    >>> round(15000.0 * moles_per_pa(bag), 6)
    0.018462
    """
    for part in parts:
        if part.volume_m3 <= 0.0 or part.temp_k <= 0.0:
            raise ValueError(f"{part} must have a volume and a temperature above 0")
    return sum(part.volume_m3 / part.temp_k for part in parts) / GAS_CONSTANT_J_PER_MOLK


def leak_at_room_pa_m3_per_s(
    rise_pa_per_s: float, parts: Sequence[GasPart], room_k: float
) -> float:
    """Throughput of room air behind the rise of a bag whose parts keep their temperatures.

    Q = R T_room dn/dt = T_room sum(V_i / T_i) dp/dt: warm gas counts for fewer moles. [1]

    >>> bag = (GasPart(volume_m3=0.003, temp_k=293.15),)
    >>> round(leak_at_room_pa_m3_per_s(3386.389 / 300.0, bag, 293.15), 7)
    0.0338639
    """
    return GAS_CONSTANT_J_PER_MOLK * room_k * moles_per_pa(parts) * rise_pa_per_s


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


def water_pressure_pa(temp_k: float) -> float:
    """Vapour pressure of water.

    log10 p = 10.11564 - 1687.537 / (T - 42.98); 273.2 to 473.2 K; Poling, Prausnitz and O'Connell,
    5th edition, as given in the open library chemicals. Within 0.5 % of IAPWS-95.

    >>> round(water_pressure_pa(293.15))
    2345
    """
    return float(10.0 ** (10.11564 - 1687.537 / (temp_k - 42.98)))


def acetone_pressure_pa(temp_k: float) -> float:
    """Vapour pressure of acetone, the usual solvent for brush and form.

    log10 p = 9.2184 - 1197.01 / (T - 45.09); 247.4 to 350.7 K; source as for water.

    >>> round(acetone_pressure_pa(293.15), -2)
    24700.0
    """
    return float(10.0 ** (9.2184 - 1197.01 / (temp_k - 45.09)))
