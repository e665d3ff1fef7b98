"""A leak in the units of other people. Pure.

1 Pa m3/s = 10 mbar l/s. A "standard" cubic centimetre is a number of moles and means nothing
without the conditions that are called standard: they travel with it.
"""

from __future__ import annotations

from dataclasses import dataclass

MBAR_L_PER_PA_M3 = 10.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Standard:
    """Conditions under which a standard cubic centimetre has its volume."""

    temp_k: float
    pressure_pa: float
    words: str


USUAL = Standard(temp_k=273.15, pressure_pa=101325.0, words="at 0 C and 1013.25 hPa")
"""What most flow meters mean."""


def mbar_l_per_s(throughput_pa_m3_per_s: float) -> float:
    """Say a throughput in mbar l/s.

    >>> mbar_l_per_s(0.0338639)
    0.338639
    """
    return MBAR_L_PER_PA_M3 * throughput_pa_m3_per_s


def standard_cm3_per_min(
    throughput_pa_m3_per_s: float, gas_k: float, standard: Standard = USUAL
) -> float:
    """Say the throughput of a gas at its own temperature in standard cm3 a minute.

    V' = Q / p_std  T_std / T_gas: the same moles under other conditions.

    >>> round(standard_cm3_per_min(0.0338639, 293.15), 4)
    18.6846
    """
    if gas_k <= 0.0:
        raise ValueError(f"gas at {gas_k} K must be warmer than 0")
    return throughput_pa_m3_per_s / standard.pressure_pa * standard.temp_k / gas_k * 60.0e6
