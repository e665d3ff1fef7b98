"""Platinum elements on the resistance converter: its 32-bit word, and the law of platinum.

Word: RTD MSB, RTD LSB, fault status, 00. MAX31865, sheet 19-6478 Rev 3. Pure; no word raises.
"""

from __future__ import annotations

from functools import lru_cache
from math import sqrt

from hardware.readings import FAULTY, Fault, Reading
from hardware.units import ZERO_CELSIUS_K
from hardware.words import DEAD_HIGH, DEAD_LOW, word_value

LOWEST_C, HIGHEST_C = -200.0, 850.0
"""Where the law holds."""
_A = 3.9083e-3
"""1/K, IEC 60751."""
_B = -5.775e-7
"""1/K^2, IEC 60751."""
_C = -4.183e-12
"""1/K^4, IEC 60751; below 0 degC only."""
_STEPS = 1 << 15
"""Codes over the reference resistor; sheet p. 14, table 5."""
_FAULT_BIT = 1
"""D0 of RTD LSB; sheet p. 14, table 4."""
_FULL_SCALE = _STEPS - 1
"""What an open element reads; sheet p. 21, table 10."""
_OPEN_BITS = 0x80 | 0x20
"""Above the high threshold, REFIN- high: open element; sheet p. 21, table 10."""
_DEAD_HIGH_THREE_BYTES = 0xFFFFFF00


def resistance_of(temp_c: float, zero_ohm: float) -> float:
    """Return the resistance of a platinum element.

    R = R0 (1 + A t + B t^2), below 0 degC + C (t - 100) t^3; -200 to 850 degC; IEC 60751.

    >>> round(resistance_of(100.0, 100.0), 2)
    138.51
    """
    if not LOWEST_C <= temp_c <= HIGHEST_C:
        raise ValueError(f"{temp_c} degC is outside {LOWEST_C}..{HIGHEST_C} degC of IEC 60751")
    return zero_ohm * _share(temp_c)


def temperature_of(resistance_ohm: float, zero_ohm: float) -> float:
    """Return the temperature in degC of a platinum element; the inverse of `resistance_of`.

    Raises ValueError outside the same range.

    >>> round(temperature_of(138.5055, 100.0), 3)
    100.0
    """
    share = resistance_ohm / zero_ohm
    if not _share(LOWEST_C) <= share <= _share(HIGHEST_C):
        raise ValueError(
            f"{resistance_ohm} ohm is outside {LOWEST_C}..{HIGHEST_C} degC of IEC 60751"
        )
    temp_c = (-_A + sqrt(_A * _A - 4.0 * _B * (1.0 - share))) / (2.0 * _B)
    return temp_c if temp_c >= 0.0 else _below_zero(share, temp_c)


@lru_cache(maxsize=4096)
def read_rtd31865(word: str, reference_ohm: float, zero_ohm: float) -> Reading:
    """Turn the chip's word into K."""
    bits = word_value(word)
    if bits is None:
        return FAULTY[Fault.UNREADABLE]
    if bits in (DEAD_LOW, DEAD_HIGH, _DEAD_HIGH_THREE_BYTES):
        return FAULTY[Fault.DEAD_BUS]
    if bits & 0xFF:
        return FAULTY[Fault.UNREADABLE]
    fault = _wire_fault(bits)
    if fault is not None:
        return FAULTY[fault]
    try:
        temp_c = temperature_of((bits >> 17) / _STEPS * reference_ohm, zero_ohm)
    except ValueError:
        return FAULTY[Fault.OUT_OF_RANGE]
    return Reading(temp_c + ZERO_CELSIUS_K)


def rtd31865_word(temp_k: float, reference_ohm: float, zero_ohm: float) -> str:
    """Return the word that the chip gives at this temperature."""
    resistance_ohm = resistance_of(temp_k - ZERO_CELSIUS_K, zero_ohm)
    code = min(round(resistance_ohm / reference_ohm * _STEPS), _FULL_SCALE)
    return f"{code << 17:08X}"


def _wire_fault(bits: int) -> Fault | None:
    """Name what the fault bit and the fault status say; sheet p. 21, table 10."""
    status = bits >> 8 & 0xFF
    faulty = bits >> 16 & _FAULT_BIT or status
    if bits >> 17 == _FULL_SCALE or status & _OPEN_BITS or (faulty and not status):
        return Fault.OPEN
    return Fault.SHORT if faulty else None


def _share(temp_c: float) -> float:
    share = 1.0 + _A * temp_c + _B * temp_c * temp_c
    if temp_c < 0.0:
        share += _C * (temp_c - 100.0) * temp_c**3
    return share


def _below_zero(share: float, temp_c: float) -> float:
    """Solve the quartic by Newton's method; the parabola's root is within 3 K."""
    for _ in range(4):
        slope = _A + 2.0 * _B * temp_c + _C * (4.0 * temp_c - 300.0) * temp_c**2
        temp_c -= (_share(temp_c) - share) / slope
    return temp_c
