"""Rows out of a damaged SQLite file: every page for itself, whatever the others say.

No tree is followed and no count is believed: each page is taken for a leaf, and each pointer in it
for a row's. What comes out is a guess until the row's own check has been held against it. The
file format is documented and frozen [1]: cells and overflow 1.6, records 2.1, log frames 4.1.

[1] https://www.sqlite.org/fileformat2.html
Pure: bytes in, rows out.
"""

from __future__ import annotations

import struct
from collections.abc import Callable, Iterator
from dataclasses import dataclass

from firmware_host.outputs.record_rows import Cell

PAGE_BYTES = 4096
"""What SQLite gives a new file unless it is told otherwise, and nobody tells it."""
LOG_HEADER_BYTES, LOG_FRAME_BYTES = 32, 24
_FILE_HEADER_BYTES = 100
_KEY_LEAF, _TABLE_LEAF = 0x0A, 0x0D
_LEAF_HEADER_BYTES = 8
_LEAST_LOCAL = (PAGE_BYTES - 12) * 32 // 255 - 23
_MOST_IN_TABLE = PAGE_BYTES - 35
_MOST_IN_INDEX = (PAGE_BYTES - 12) * 64 // 255 - 23
_OVERFLOW_BYTES = PAGE_BYTES - 4
_LONGEST_ROW = 64 << 20
_INTEGER_BYTES = (0, 1, 2, 3, 4, 6, 8)
_FLOAT, _ZERO, _ONE = 7, 8, 9
_FIRST_BLOB = 12

GetPage = Callable[[int], bytes | None]


@dataclass(frozen=True, slots=True)
class Found:
    """A row as it may have been."""

    rowid: int | None
    """None for a row of a table that is kept by its key."""
    cells: tuple[Cell, ...]
    """Where a table has a rowid its first cell is None: the rowid stands for it."""


def pages_of(file: bytes, log: bytes) -> tuple[list[bytes], GetPage]:
    """Give every image of a page in the file and in its log, and who follows to one by number."""
    images = [file[at : at + PAGE_BYTES] for at in range(0, len(file), PAGE_BYTES)]
    newest = dict(enumerate(images, start=1))
    step = LOG_FRAME_BYTES + PAGE_BYTES
    for at in range(LOG_HEADER_BYTES, len(log) - step + 1, step):
        image = log[at + LOG_FRAME_BYTES : at + step]
        newest[int.from_bytes(log[at : at + 4])] = image
        images.append(image)
    return [image for image in images if len(image) == PAGE_BYTES], newest.get


def rows_of(page: bytes, get: GetPage) -> Iterator[Found]:
    """Give every row that the page may hold, as a leaf of a table or of a key's tree."""
    # A page that says it is a table's leaf is believed so far; any other word may be damage.
    kinds = (True,) if page[0] == _TABLE_LEAF else (True, False)
    for at in _pointers(page):
        for with_rowid in kinds:
            try:
                yield _row(page, at, get, with_rowid=with_rowid)
            except (ValueError, IndexError, struct.error):
                continue


def _pointers(page: bytes) -> Iterator[int]:
    for start in (0, _FILE_HEADER_BYTES):
        if start and page[start] not in (_KEY_LEAF, _TABLE_LEAF):
            continue
        for place in range(start + _LEAF_HEADER_BYTES, PAGE_BYTES - 1, 2):
            at = int.from_bytes(page[place : place + 2])
            if at == 0:
                break
            if place < at < PAGE_BYTES:
                yield at


def _row(page: bytes, at: int, get: GetPage, *, with_rowid: bool) -> Found:
    size, at = _varint(page, at)
    rowid = None
    if with_rowid:
        rowid, at = _varint(page, at)
        rowid -= (rowid >> 63) << 64
    payload = _payload(page, at, size, get, _MOST_IN_TABLE if with_rowid else _MOST_IN_INDEX)
    return Found(rowid, tuple(_cells(payload)))


def _payload(page: bytes, at: int, size: int, get: GetPage, most: int) -> bytes:
    if not 0 < size <= _LONGEST_ROW:
        raise ValueError("no row is so long")
    if size <= most:
        held = page[at : at + size]
    else:
        local = _LEAST_LOCAL + (size - _LEAST_LOCAL) % _OVERFLOW_BYTES
        local = local if local <= most else _LEAST_LOCAL
        held = page[at : at + local]
        following = int.from_bytes(page[at + local : at + local + 4])
        while len(held) < size:
            spilt = get(following)
            if spilt is None:
                raise ValueError("the rest of the row is not there")
            held += spilt[4 : 4 + size - len(held)]
            following = int.from_bytes(spilt[:4])
    if len(held) != size:
        raise ValueError("the row does not end in its page")
    return held


def _cells(payload: bytes) -> Iterator[Cell]:
    end, at = _varint(payload, 0)
    if not at <= end <= len(payload):
        raise ValueError("the row's head is longer than the row")
    kinds = []
    while at < end:
        kind, at = _varint(payload, at)
        kinds.append(kind)
    for kind in kinds:
        size = _size(kind)
        if at + size > len(payload):
            raise ValueError("a cell does not end in its row")
        yield _cell(kind, payload[at : at + size])
        at += size
    if at != len(payload):
        raise ValueError("the row is longer than its cells")


def _size(kind: int) -> int:
    if kind >= _FIRST_BLOB:
        return (kind - _FIRST_BLOB) // 2
    if kind < len(_INTEGER_BYTES):
        return _INTEGER_BYTES[kind]
    if kind in (_ZERO, _ONE):
        return 0
    if kind == _FLOAT:
        return 8
    raise ValueError(f"a cell has the kind {kind}, which means nothing")


def _cell(kind: int, held: bytes) -> Cell:
    if kind >= _FIRST_BLOB:
        return held.decode() if kind % 2 else held
    if kind == _FLOAT:
        return float(struct.unpack(">d", held)[0])
    if kind in (_ZERO, _ONE):
        return kind - _ZERO
    return int.from_bytes(held, signed=True) if held else None


def _varint(held: bytes, at: int) -> tuple[int, int]:
    value = 0
    for place in range(at, at + 8):
        value = value << 7 | held[place] & 0x7F
        if held[place] < 0x80:
            return value, place + 1
    return value << 8 | held[at + 8], at + 9
