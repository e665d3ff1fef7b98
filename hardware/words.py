"""What the 32-bit words of the converter chips have in common."""

from __future__ import annotations

DEAD_LOW = 0x00000000
"""The line is held low: a word that would otherwise read as exactly 0 degC everywhere."""
DEAD_HIGH = 0xFFFFFFFF
"""The line is held high, or floats up."""
_HEX_DIGITS = frozenset("0123456789ABCDEFabcdef")


def word_value(word: str) -> int | None:
    """Read 8 hex digits; None for anything else.

    >>> word_value("01901900")
    26220800
    """
    if len(word) != 8 or not _HEX_DIGITS.issuperset(word):
        return None
    return int(word, 16)


def signed(bits: int, width: int) -> int:
    """Read the lowest `width` bits as two's complement.

    >>> signed(0x3FFF, 14)
    -1
    """
    bits &= (1 << width) - 1
    return bits - (1 << width) if bits >> (width - 1) else bits
