"""Gas flow laws of the plant: through a small hole, through a hose, off a wet surface.

Pure. Throughput is p dV/dt in Pa m3/s at the temperature of the gas that flows. These laws are
the plant's own; the daemon has its own copy and each is checked against something else.
"""

from __future__ import annotations

import math

GAS_CONSTANT_J_PER_MOLK = 8.314462618
"""SI 2019, exact to the digits shown."""
AIR_MOLAR_MASS_KG_PER_MOL = 0.0289652
AIR_J_PER_KGK = GAS_CONSTANT_J_PER_MOLK / AIR_MOLAR_MASS_KG_PER_MOL
GAMMA = 1.4
"""Ratio of specific heats of dry air."""
CRITICAL_RATIO = math.pow(2.0 / (GAMMA + 1.0), GAMMA / (GAMMA - 1.0))
"""Downstream over upstream pressure below which the flow through a hole is choked."""
CHOKED_FACTOR = math.sqrt(GAMMA) * math.pow(
    2.0 / (GAMMA + 1.0), (GAMMA + 1.0) / (2.0 * (GAMMA - 1.0))
)
AIR_VISCOSITY_PA_S = 1.82057e-5
"""At 20 degC."""


def hole_factor(pressure_ratio: float) -> float:
    """Share of sqrt(Rs T) p A that passes a hole, for downstream / upstream pressure.

    Isentropic nozzle flow: constant while choked, else
    sqrt(2 g / (g - 1) (r^(2/g) - r^((g+1)/g))). Valid for holes much wider than 70 nm.

    >>> round(hole_factor(0.2), 6) == round(CHOKED_FACTOR, 6)
    True
    """
    if pressure_ratio <= CRITICAL_RATIO:
        return CHOKED_FACTOR
    if pressure_ratio >= 1.0:
        return 0.0
    span = math.pow(pressure_ratio, 2.0 / GAMMA) - math.pow(pressure_ratio, (GAMMA + 1.0) / GAMMA)
    return math.sqrt(2.0 * GAMMA / (GAMMA - 1.0) * span)


def hole_throughput_pa_m3_per_s(
    area_m2: float, up_pa: float, down_pa: float, temp_k: float
) -> float:
    """Throughput of air through a sharp hole of this effective area (discharge included)."""
    return area_m2 * up_pa * math.sqrt(AIR_J_PER_KGK * temp_k) * hole_factor(down_pa / up_pa)


def hole_area_m2(throughput_pa_m3_per_s: float, up_pa: float, temp_k: float) -> float:
    """Effective area of the hole that passes this throughput while choked."""
    return throughput_pa_m3_per_s / (up_pa * math.sqrt(AIR_J_PER_KGK * temp_k) * CHOKED_FACTOR)


def hose_conductance_m3_per_s(bore_m: float, length_m: float, mean_pa: float) -> float:
    """Laminar conductance of a long round hose: pi d^4 p / (128 eta L).

    Valid for Re below 2000 and a mean free path far below the bore (above about 100 Pa).

    >>> round(hose_conductance_m3_per_s(0.006, 3.0, 10000.0), 6)
    0.005824
    """
    return math.pi * math.pow(bore_m, 4) * mean_pa / (128.0 * AIR_VISCOSITY_PA_S * length_m)


def styrene_pressure_pa(temp_k: float) -> float:
    """Saturated vapour pressure of styrene: ln p = 21.4873326 - 3677.2353 / (T - 49.03).

    Landolt-Boernstein fit, 285 to 418 K.

    >>> round(styrene_pressure_pa(293.15), 1)
    616.5
    """
    return math.exp(21.4873326 - 3677.2353 / (temp_k - 49.03))
