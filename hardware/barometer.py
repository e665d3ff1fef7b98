"""The barometer chip's word to Pa and K, with the factory trimming that travels in the word.

Word: 24 bytes of trimming (88h..9Fh), then pressure and temperature as measured (F7h..FCh), in
hex. BMP280, sheet BST-BMP280-DS001, section 3.11.3 and appendix 8.1. Pure; no word raises.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache
from string import hexdigits
from struct import Struct

from hardware.readings import FAULTY, Fault, Reading
from hardware.units import ZERO_CELSIUS_K

TRIMMING_BYTES = 24
WORD_DIGITS = 2 * (TRIMMING_BYTES + 6)
LOWEST_PA, HIGHEST_PA = 30000.0, 110000.0
LOWEST_C, HIGHEST_C = -40.0, 85.0
"""Operating range; sheet section 1, table 2."""
SKIPPED = 0x80000
"""What a measurement that was not made reads; sheet section 4.3.6."""
EXAMPLE_TRIMMING = bytes.fromhex("706B436718FC7D8E43D6D00B270B8C00F9FF8C3CF8C67017")
"""Trimming of the sheet's worked example, section 3.12; what a played chip carries."""
_TRIMMING = Struct("<HhhHhhhhhhhh")


@dataclass(frozen=True, slots=True)
class Weather:
    """What one word measures."""

    pressure_pa: float
    temp_c: float


def compensated(trimming: bytes, pressure_count: int, temp_count: int) -> Weather:
    """Turn counts into what they measure; ZeroDivisionError for a trimming that no chip has.

    >>> here = compensated(EXAMPLE_TRIMMING, 415148, 519888)
    >>> round(here.pressure_pa, 1), round(here.temp_c, 2)
    (100653.3, 25.08)
    """
    t1, t2, t3, p1, p2, p3, p4, p5, p6, p7, p8, p9 = _TRIMMING.unpack(trimming)
    fine = (temp_count / 16384.0 - t1 / 1024.0) * t2
    fine += (temp_count / 131072.0 - t1 / 8192.0) ** 2 * t3
    warm = fine / 2.0 - 64000.0
    offset = (warm * warm * p6 / 32768.0 + warm * p5 * 2.0) / 4.0 + p4 * 65536.0
    slope = (1.0 + (p3 * warm * warm / 524288.0 + p2 * warm) / 524288.0 / 32768.0) * p1
    straight_pa = (1048576.0 - pressure_count - offset / 4096.0) * 6250.0 / slope
    bend_pa = p9 * straight_pa * straight_pa / 2147483648.0 + straight_pa * p8 / 32768.0
    return Weather(straight_pa + (bend_pa + p7) / 16.0, fine / 5120.0)


@lru_cache(maxsize=1024)
def read_bmp280(word: str, *, temperature: bool = False) -> Reading:
    """Turn the chip's word into Pa, or into K of the chip itself."""
    if len(word) != WORD_DIGITS or not set(hexdigits).issuperset(word):
        return FAULTY[Fault.UNREADABLE]
    data = bytes.fromhex(word)
    if len(set(data)) == 1:
        return FAULTY[Fault.DEAD_BUS]
    pressure_count, temp_count = _counts(data)
    if SKIPPED in (pressure_count, temp_count):
        return FAULTY[Fault.NOT_READ]
    try:
        weather = compensated(data[:TRIMMING_BYTES], pressure_count, temp_count)
    except ZeroDivisionError:
        return FAULTY[Fault.UNREADABLE]
    inside = LOWEST_PA <= weather.pressure_pa <= HIGHEST_PA
    if not (inside and LOWEST_C <= weather.temp_c <= HIGHEST_C):
        return FAULTY[Fault.OUT_OF_RANGE]
    return Reading(weather.temp_c + ZERO_CELSIUS_K if temperature else weather.pressure_pa)


def bmp280_word(pressure_pa: float, temp_k: float) -> str:
    """Return the word of a chip with the example's trimming; ValueError outside its range."""
    temp_c = temp_k - ZERO_CELSIUS_K
    if not (LOWEST_PA <= pressure_pa <= HIGHEST_PA and LOWEST_C <= temp_c <= HIGHEST_C):
        raise ValueError(f"{pressure_pa} Pa at {temp_c} degC is outside the barometer's range")
    temp_count = _count_below(lambda count: compensated(EXAMPLE_TRIMMING, 0, count).temp_c, temp_c)
    # Pressure falls as its count rises, so both are searched with the sign turned.
    pressure_count = _count_below(
        lambda count: -compensated(EXAMPLE_TRIMMING, count, temp_count).pressure_pa, -pressure_pa
    )
    counts = pressure_count << 28 | temp_count << 4
    return (EXAMPLE_TRIMMING + counts.to_bytes(6, "big")).hex().upper()


def _counts(data: bytes) -> tuple[int, int]:
    """Take both 20-bit counts; sheet section 4.3.6 and 4.3.7."""
    counts = int.from_bytes(data[TRIMMING_BYTES:], "big")
    return counts >> 28, counts >> 4 & 0xFFFFF


def _count_below(value_of: Callable[[int], float], wanted: float) -> int:
    """Search the largest 20-bit count whose value, rising with it, is not above `wanted`."""
    low, high = 0, (1 << 20) - 1
    while low < high:
        middle = (low + high + 1) // 2
        low, high = (middle, high) if value_of(middle) <= wanted else (low, middle - 1)
    return low
