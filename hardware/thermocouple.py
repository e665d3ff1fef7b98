"""Thermocouple converters: their 32-bit words, and the couples' own law.

`tc31855` (MAX31855, sheet 19-5793 Rev 5) takes every couple for a straight line, so the host puts
its voltage back together and reads it by ITS-90. `tc31856` (MAX31856) has done that itself and is
never corrected again. Pure; no word raises, and what no couple can mean has no value.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from thermocouple_its90 import TYPES

from hardware.channels import Couple
from hardware.readings import FAULTY, Fault, Reading
from hardware.units import ZERO_CELSIUS_K
from hardware.words import DEAD_HIGH, DEAD_LOW, signed, word_value

SLOPES_MV_PER_K = {Couple.K: 0.041276, Couple.J: 0.057953, Couple.T: 0.05218}
"""The straight lines inside tc31855: K from the sheet p. 8, J and T from memory."""
COLDEST_JUNCTION_C, HOTTEST_JUNCTION_C = -55.0, 125.0
"""What the chips' own thermometers can mean."""
_SHOWN_STEP_C = 0.25
_COLD_STEP_C = 0.0625
_LINEAR_STEP_C = 2.0**-7
"""Last of the 19 bits of tc31856; sheet from memory."""
_RESERVED = 1 << 17 | 1 << 3
"""D17 and D3 always read 0; sheet p. 10, table 3."""
_FAULT, _OPEN, _SHORT = 1 << 16, 1, 0b110
"""D16 any fault, D0 open, D1 short to ground, D2 short to supply; sheet p. 10, table 2."""
_SR_OPEN, _SR_VOLTAGE, _SR_RANGES = 0x01, 0x02, 0xC0
"""Fault status of tc31856, from memory: open, over or under voltage, couple or cold junction out
of range. The four bits between compare with limits that the board set; the reading stays good."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LinearWord:
    """The fields of a tc31855 word."""

    shown_c: float
    """What the chip takes the couple for, on its straight line."""
    cold_c: float
    faulty: bool
    open: bool
    short: bool


def split_tc31855(bits: int) -> LinearWord:
    """Take a tc31855 word apart; sheet p. 10, tables 2 to 5."""
    return LinearWord(
        shown_c=signed(bits >> 18, 14) * _SHOWN_STEP_C,
        cold_c=signed(bits >> 4, 12) * _COLD_STEP_C,
        faulty=bool(bits & _FAULT),
        open=bool(bits & _OPEN),
        short=bool(bits & _SHORT),
    )


def relinearised_c(shown_c: float, cold_c: float, couple: Couple) -> float:
    """Return the couple's temperature from what the linear chip shows.

    E = S (T_shown - T_cold), T = the inverse of ITS-90 at E + E(T_cold). ValueError outside the
    span of the couple. NIST Monograph 175.

    >>> round(relinearised_c(169.75, 25.0, Couple.J), 1)
    179.9
    """
    voltage_mv = SLOPES_MV_PER_K[couple] * (shown_c - cold_c)
    return TYPES[couple].temperature(voltage_mv, reference=cold_c)


@lru_cache(maxsize=8192)
def read_tc31855(word: str, couple: Couple) -> Reading:
    """Turn the linear chip's word into K."""
    bits = word_value(word)
    if bits is None:
        return FAULTY[Fault.UNREADABLE]
    if bits == DEAD_LOW or bits & _RESERVED:
        return FAULTY[Fault.DEAD_BUS]
    fields = split_tc31855(bits)
    fault = _linear_fault(fields)
    if fault is not None:
        return FAULTY[fault]
    try:
        temp_c = relinearised_c(fields.shown_c, fields.cold_c, couple)
    except ValueError:
        return FAULTY[Fault.OUT_OF_RANGE]
    return Reading(temp_c + ZERO_CELSIUS_K)


@lru_cache(maxsize=8192)
def read_tc31856(word: str, couple: Couple) -> Reading:
    """Turn the linearising chip's word into K; it needs no correction."""
    bits = word_value(word)
    if bits is None:
        return FAULTY[Fault.UNREADABLE]
    if bits in (DEAD_LOW, DEAD_HIGH):
        return FAULTY[Fault.DEAD_BUS]
    if bits & _SR_OPEN:
        return FAULTY[Fault.OPEN]
    if bits & _SR_VOLTAGE:
        return FAULTY[Fault.SHORT]
    temp_c = signed(bits >> 13, 19) * _LINEAR_STEP_C
    lowest_c, highest_c = TYPES[couple].range
    if bits & _SR_RANGES or not lowest_c <= temp_c <= highest_c:
        return FAULTY[Fault.OUT_OF_RANGE]
    return Reading(temp_c + ZERO_CELSIUS_K)


def couple_temperature(voltage_v: float, cold_k: float, couple: Couple) -> Reading:
    """Turn a couple's own voltage into K: T = the inverse of ITS-90 at E + E(T_cold).

    NIST Monograph 175. Temperatures are never added: 4.096 mV of type K over a cold junction of
    25 degC is 124.3 degC, not 125.

    >>> reading = couple_temperature(4.096e-3, 298.15, Couple.K)
    >>> round(reading.value - 273.15, 1)
    124.3
    """
    try:
        temp_c = TYPES[couple].temperature(1000.0 * voltage_v, reference=cold_k - ZERO_CELSIUS_K)
    except ValueError:
        return FAULTY[Fault.OUT_OF_RANGE]
    return Reading(temp_c + ZERO_CELSIUS_K)


def couple_voltage_v(temp_k: float, cold_k: float, couple: Couple) -> float:
    """Return what a couple gives between two temperatures; ValueError outside its span."""
    emf_mv = TYPES[couple].emf(temp_k - ZERO_CELSIUS_K, reference=cold_k - ZERO_CELSIUS_K)
    return float(emf_mv) / 1000.0


def tc31855_word(temp_k: float, cold_k: float, couple: Couple) -> str:
    """Return the word that the linear chip gives: what it shows, not what is true.

    ValueError outside the couple's span or the chip's.
    """
    temp_c, cold_c = temp_k - ZERO_CELSIUS_K, _junction_c(cold_k)
    shown_c = cold_c + TYPES[couple].emf(temp_c, reference=cold_c) / SLOPES_MV_PER_K[couple]
    shown, cold = round(shown_c / _SHOWN_STEP_C), round(cold_c / _COLD_STEP_C)
    return f"{(shown & 0x3FFF) << 18 | (cold & 0xFFF) << 4:08X}"


def tc31856_word(temp_k: float, couple: Couple) -> str:
    """Return the word that the linearising chip gives; ValueError outside the couple's span."""
    temp_c = temp_k - ZERO_CELSIUS_K
    lowest_c, highest_c = TYPES[couple].range
    if not lowest_c <= temp_c <= highest_c:
        raise ValueError(f"{temp_c} degC is outside {lowest_c}..{highest_c} degC of type {couple}")
    return f"{(round(temp_c / _LINEAR_STEP_C) & 0x7FFFF) << 13:08X}"


def _junction_c(cold_k: float) -> float:
    """Return the cold junction as the chip measures it, in its own steps."""
    cold_c = round((cold_k - ZERO_CELSIUS_K) / _COLD_STEP_C) * _COLD_STEP_C
    if not COLDEST_JUNCTION_C <= cold_c <= HOTTEST_JUNCTION_C:
        raise ValueError(
            f"cold junction of {cold_c} degC is outside the chip's "
            f"{COLDEST_JUNCTION_C}..{HOTTEST_JUNCTION_C} degC"
        )
    return cold_c


def _linear_fault(fields: LinearWord) -> Fault | None:
    if fields.open:
        return Fault.OPEN
    if fields.short:
        return Fault.SHORT
    if fields.faulty:
        return Fault.UNREADABLE
    if not COLDEST_JUNCTION_C <= fields.cold_c <= HOTTEST_JUNCTION_C:
        return Fault.OUT_OF_RANGE
    return None
