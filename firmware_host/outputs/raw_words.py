"""Raw words of a sample line, packed without loss so that the evidence costs little.

The text `32768,01901900,-` becomes a count, a nibble per word that says how it was written, and
the words themselves, so that `hex(raw)` in any SQLite shell still shows the chip's bits. A text
that would not come back letter for letter is kept as the text it is.
"""

from __future__ import annotations

import re
from functools import lru_cache
from itertools import zip_longest

MOST_WORDS = 255
WORDS_KEPT = 4096
"""A couple's words come again and again, and so do most counts of a quiet bag."""
_PAD = 0
_SIGNED_MOST = 4
"""Tags 1 to 4: a decimal count in that many bytes, two's complement, most significant first."""
_HEX = 8
"""Eight hex digits in four bytes."""
_LONG_HEX = 9
"""Sixty hex digits in thirty bytes: a barometer chip's readings with its own constants."""
_NOT_READ = 13
"""A lone `-`; no bytes."""
_DRIVER = 14
"""`!n`; n in one byte."""

_HEX_WORD = re.compile(r"[0-9A-F]{8}", re.ASCII)
_LONG_HEX_WORD = re.compile(r"[0-9A-F]{60}", re.ASCII)
_DECIMAL_WORD = re.compile(r"0|-?[1-9][0-9]{0,9}", re.ASCII)
_DRIVER_WORD = re.compile(r"!(?:0|[1-9][0-9]{0,2})", re.ASCII)


def pack_words(text: str) -> bytes | str:
    """Pack the comma-separated raws; the text itself where packing could change it.

    >>> pack_words("01901900,-12,-").hex()
    '0381d001901900f4'
    >>> pack_words("+5")
    '+5'
    """
    parts = [_pack_word(word) for word in text.split(",")]
    packed = [part for part in parts if part is not None]
    if len(packed) != len(parts) or len(packed) > MOST_WORDS:
        return text
    tags = [tag for tag, _ in packed]
    pairs = zip_longest(tags[::2], tags[1::2], fillvalue=_PAD)
    head = bytes([len(packed), *(high << 4 | low for high, low in pairs)])
    return head + b"".join(body for _, body in packed)


def unpack_words(stored: bytes | str) -> str:
    """Give the raws as they were received.

    Raises ValueError for bytes that `pack_words` does not make.
    """
    if isinstance(stored, str):
        return stored
    if not stored:
        raise ValueError("packed raws are empty")
    count = stored[0]
    at = 1 + (count + 1) // 2
    words = []
    for index in range(count):
        pair = stored[1 + index // 2 : 2 + index // 2]
        if not pair:
            raise ValueError("packed raws end early")
        tag = pair[0] & 0x0F if index % 2 else pair[0] >> 4
        length = _length(tag)
        words.append(_unpack_word(tag, stored[at : at + length], length))
        at += length
    if at != len(stored):
        raise ValueError(f"packed raws hold {len(stored)} bytes where {at} are meant")
    return ",".join(words)


@lru_cache(maxsize=WORDS_KEPT)
def _pack_word(word: str) -> tuple[int, bytes] | None:
    if word == "-":
        return _NOT_READ, b""
    if _HEX_WORD.fullmatch(word):
        return _HEX, bytes.fromhex(word)
    if _LONG_HEX_WORD.fullmatch(word):
        return _LONG_HEX, bytes.fromhex(word)
    if _DECIMAL_WORD.fullmatch(word):
        return _pack_count(int(word))
    if _DRIVER_WORD.fullmatch(word) and int(word[1:]) <= 0xFF:
        return _DRIVER, bytes([int(word[1:])])
    return None


def _pack_count(count: int) -> tuple[int, bytes] | None:
    for length in range(1, _SIGNED_MOST + 1):
        if -(1 << 8 * length - 1) <= count < 1 << 8 * length - 1:
            return length, count.to_bytes(length, "big", signed=True)
    return None


def _length(tag: int) -> int:
    if 1 <= tag <= _SIGNED_MOST:
        return tag
    try:
        return {_HEX: 4, _LONG_HEX: 30, _NOT_READ: 0, _DRIVER: 1}[tag]
    except KeyError:
        raise ValueError(f"packed raws hold the unknown tag {tag}") from None


def _unpack_word(tag: int, body: bytes, length: int) -> str:
    if len(body) != length:
        raise ValueError("packed raws end early")
    if tag in (_HEX, _LONG_HEX):
        return body.hex().upper()
    if tag == _NOT_READ:
        return "-"
    if tag == _DRIVER:
        return f"!{body[0]}"
    return str(int.from_bytes(body, "big", signed=True))
