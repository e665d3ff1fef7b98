"""Text from data made harmless and countable: the one edge that every name, note and text passes.

What a person or a file wrote never steers a terminal and never becomes markup. With `ascii_only`
nothing but plain 7-bit characters is left.
"""

from __future__ import annotations

import unicodedata
from dataclasses import fields, is_dataclass, replace
from typing import Any, TypeVar

_Value = TypeVar("_Value")

_INVISIBLE = frozenset(
    [
        0x034F,
        0x115F,
        0x1160,
        0x17B4,
        0x17B5,
        0x3164,
        0xFFA0,
        *range(0x180B, 0x1810),
        *range(0xFE00, 0xFE10),
        *range(0xE0100, 0xE01F0),
    ]
)
"""Marks and letters without a shape: fillers, joiners, variation selectors (Unicode 15,
Default_Ignorable_Code_Point, beyond those of category Cf)."""


def plain(text: str, *, ascii_only: bool = False) -> str:
    r"""Strip control, format, bidirectional and zero-width characters; line ends become spaces.

    >>> plain("hatch\n\x1b[31mcover\u202e")
    'hatch [31mcover'
    >>> plain("R\xfcmpf \xb0C", ascii_only=True)
    'Rumpf ?C'
    """
    kept = "".join(_kept(character) for character in unicodedata.normalize("NFC", text))
    return _seven_bit(kept) if ascii_only else kept


def cleaned(value: _Value, *, ascii_only: bool = False) -> _Value:
    """Make every text in a frozen dataclass plain, however deep it lies; the rest stays."""
    return _cleaned(value, ascii_only)  # type: ignore[no-any-return]  # same type in and out


def _cleaned(value: Any, ascii_only: bool) -> Any:  # noqa: ANN401, FBT001 - any part of a snapshot
    if type(value) is str:  # an enumeration's words are ours and stay what they are
        return plain(value, ascii_only=ascii_only)
    if isinstance(value, tuple):
        return tuple(_cleaned(part, ascii_only) for part in value)
    if is_dataclass(value) and not isinstance(value, type):
        parts = {
            field.name: _cleaned(getattr(value, field.name), ascii_only) for field in fields(value)
        }
        return replace(value, **parts)
    return value


def width(text: str) -> int:
    """Count the cells that a plain text takes on a terminal."""
    return sum(_cells(character) for character in text)


def cut(text: str, cells: int) -> str:
    """Shorten to at most so many cells; a text that lost its end says so with '..'.

    >>> cut("kayak hatch cover", 12)
    'kayak hatc..'
    """
    if width(text) <= cells:
        return text
    taken, room = [], max(cells - 2, 0)
    for character in text:
        room -= _cells(character)
        if room < 0:
            break
        taken.append(character)
    return ("".join(taken) + "..")[: max(cells, 0)]


def wrapped(text: str, cells: int, lines: int) -> list[str]:
    """Break at spaces into at most so many lines; what is left over ends in '..'."""
    broken = [""]
    for word in text.split():
        longer = f"{broken[-1]} {word}".strip()
        if width(longer) <= cells or not broken[-1]:
            broken[-1] = longer
        elif len(broken) < lines:
            broken.append(word)
        else:
            broken[-1] = cut(longer, cells)
            break
    return [cut(line, cells) for line in broken]


def padded(text: str, cells: int) -> str:
    """Fill up with spaces, or cut, to exactly so many cells."""
    shown = cut(text, cells)
    return shown + " " * (cells - width(shown))


def _kept(character: str) -> str:
    if character in "\n\r\t\v\f\x85":
        return " "
    category = unicodedata.category(character)
    if category in ("Zl", "Zp"):
        return " "
    return "" if category[0] == "C" or ord(character) in _INVISIBLE else character


def _seven_bit(text: str) -> str:
    split = unicodedata.normalize("NFKD", text)
    return "".join(
        character if character.isascii() else "?"
        for character in split
        if unicodedata.category(character) != "Mn"
    )


def _cells(character: str) -> int:
    if unicodedata.category(character) in ("Mn", "Me"):
        return 0
    return 2 if unicodedata.east_asian_width(character) in ("W", "F") else 1
