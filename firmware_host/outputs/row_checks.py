"""The checks of many rows at once: what `record_rows.row_check` says, for rows laid out alike.

A CRC is linear: each byte of a message adds, by exclusive or, something that depends on its value
and its distance from the end alone, and so does the check that is gone on from. Rows of one shape
have each byte at the same distance, so one look-up per place does for all of them.
Pure. CRC-32 as in zlib; MessagePack as msgspec writes it, the shortest form of every number.
"""

from __future__ import annotations

import functools
from collections.abc import Iterator, Sequence

import numpy as np
from numpy.typing import NDArray

from firmware_host.outputs.table_pages import (
    FIRST_BLOB,
    NULL,
    REAL,
    Bytes,
    Column,
    Integers,
    Shape,
)

Checks = NDArray[np.uint32]
Part = bytes | Bytes
"""A piece of the message: bytes that all rows share, or a line of bytes for each place."""
_Rows = slice | NDArray[np.intp]

_POLYNOMIAL = 0xEDB88320
_ALL_ONES = np.uint32(0xFFFFFFFF)
_FORMS: tuple[tuple[bytes, int], ...] = (
    *((b"\xd3", 8), (b"\xd2", 4), (b"\xd1", 2), (b"\xd0", 1), (b"", 1)),
    *((b"\xcc", 1), (b"\xcd", 2), (b"\xce", 4), (b"\xcf", 8)),
)
"""Tag and bytes of a whole number in MessagePack, from the most negative to the greatest."""
_FORM_BOUNDS = np.array([-(1 << 31), -(1 << 15), -128, -32, 128, 256, 1 << 16, 1 << 32])
_NEGATIVE_FORMS = 4
_NIL, _FLOAT = b"\xc0", b"\xcb"


def row_checks(table: str, shape: Shape, before: Checks) -> Checks:
    """CRC-32 of each row without its last cell, continued from the check of the row before."""
    found = np.zeros(len(shape.index), dtype=np.uint32)
    for rows in _alike(shape):
        found[rows] = _crc(list(_message(table, shape, rows)), before[rows])
    return found


def _alike(shape: Shape) -> Iterator[_Rows]:
    """Part the rows by the forms that their numbers take in the message; mostly all take one."""
    key: Integers | None = None
    for values in (shape.rowid, *(held for held in shape.numbers[:-1] if held is not None)):
        least, most = np.searchsorted(_FORM_BOUNDS, (values.min(), values.max()), "right")
        if least != most:
            form = np.searchsorted(_FORM_BOUNDS, values, "right")
            key = form if key is None else key * len(_FORMS) + form
            key = np.unique(key, return_inverse=True)[1]
    if key is None:
        yield slice(None)
    else:
        yield from (np.flatnonzero(key == one) for one in range(int(key.max()) + 1))


def _message(table: str, shape: Shape, rows: _Rows) -> Iterator[Part]:
    """Lay out `[table, *cells]` in MessagePack."""
    lines = shape.cells[rows].T
    rowid = shape.rowid[rows].astype(">i8").view(np.uint8).reshape(-1, 8)
    yield _head(len(shape.columns))
    yield _text_head(len(table)) + table.encode()
    yield from _integer(shape.rowid[rows], rowid.T)
    # The first cell is the rowid, the last one the check.
    for column, values in zip(shape.columns[1:-1], shape.numbers[1:-1], strict=True):
        held = lines[column.at : column.at + column.size]
        if values is not None:
            yield from _integer(values[rows], held)
        else:
            yield _other_head(column)
            yield held


def _integer(values: Integers, held: Bytes) -> Iterator[Part]:
    form = int(np.searchsorted(_FORM_BOUNDS, values[0], "right"))
    tag, width = _FORMS[form]
    yield tag
    if len(held) == 0:
        yield int(values[0]).to_bytes(width)  # 0 or 1, told by the head alone
        return
    yield (b"\xff" if form < _NEGATIVE_FORMS else b"\x00") * (width - len(held))
    yield held[-width:]


def _other_head(column: Column) -> bytes:
    if column.kind == NULL:
        return _NIL
    if column.kind == REAL:
        return _FLOAT
    if column.kind < FIRST_BLOB:
        raise ValueError(f"a column has the kind {column.kind}, which means nothing")
    return _text_head(column.size) if column.kind % 2 else _blob_head(column.size)


def _head(count: int) -> bytes:
    return bytes([0x90 | count]) if count < 1 << 4 else b"\xdc" + count.to_bytes(2)


def _text_head(size: int) -> bytes:
    if size < 1 << 5:
        return bytes([0xA0 | size])
    return b"\xd9" + size.to_bytes(1) if size < 1 << 8 else b"\xda" + size.to_bytes(2)


def _blob_head(size: int) -> bytes:
    return b"\xc4" + size.to_bytes(1) if size < 1 << 8 else b"\xc5" + size.to_bytes(2)


def _crc(parts: Sequence[Part], before: Checks) -> Checks:
    """CRC-32 of messages of one length, given as lines of bytes, continued from `before`."""
    length = sum(map(len, parts))
    tables = _tables(length)
    register = before ^ _ALL_ONES
    total = np.zeros(len(before), dtype=np.uint32)
    for byte in range(4):
        total ^= tables[length - 1 - byte].take(register >> np.uint32(8 * byte) & np.uint32(0xFF))
    place, shared = length, 0
    for part in parts:
        for held in part:
            place -= 1
            if isinstance(held, int):
                shared ^= int(tables[place][held])
            else:
                total ^= tables[place].take(held)
    return total ^ np.uint32(shared) ^ _ALL_ONES


def _tables(length: int) -> list[Checks]:
    """Give what a byte adds to the register, by how many bytes come after it."""
    tables = _grown_tables()
    while len(tables) < length:
        last = tables[-1]
        tables.append(tables[0][last & np.uint32(0xFF)] ^ last >> np.uint32(8))
    return tables


@functools.cache
def _grown_tables() -> list[Checks]:
    values = []
    for byte in range(256):
        value = byte
        for _ in range(8):
            value = value >> 1 ^ (_POLYNOMIAL if value & 1 else 0)
        values.append(value)
    return [np.array(values, dtype=np.uint32)]
