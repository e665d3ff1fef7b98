"""Rows of a table straight from the pages of its file, many at a time, as bytes and whole numbers.

SQLite's own row by row interface costs ten times as much as everything that a report does with a
row. The layout is SQLite's "Database File Format" (sqlite.org/fileformat2.html), which its makers
keep unchanged: sections 1.6 for pages and cells, 2.1 for the record in a cell, 2.2 for the rowid.
Pure: pages come from `read`; whatever is not laid out like that raises ValueError.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Bytes = NDArray[np.uint8]
Integers = NDArray[np.int64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Pages:
    """Some pages, one after the other."""

    size: int
    """Of a page."""
    count: int
    whole: Bytes
    """All bytes, and `ROOM` zeros behind, so that eight can be looked at anywhere."""

    @property
    def rows(self) -> Bytes:
        """Give the pages as rows of bytes."""
        return self.whole[: self.size * self.count].reshape(self.count, self.size)


ReadPages = Callable[[Sequence[int]], Pages]
"""Gives pages by their numbers, counted from 1; what it gave before is good no longer."""

LEAF, INTERIOR = 0x0D, 0x05
_LEAF_HEAD, _INTERIOR_HEAD = 8, 12
_DEEPEST = 20
"""A table of 2**64 rows would not be so deep: deeper is a ring."""
_OVERFLOW_FROM = 35
"""A payload longer than a page less these bytes goes on in another page (section 1.6)."""
_LONGEST_VARINT = 9
ROOM = 64
_SIZES = (0, 1, 2, 3, 4, 6, 8, 8, 0, 0)
"""Bytes of the serial types 0 to 9 (section 2.1)."""
NULL, REAL, ZERO, ONE, FIRST_BLOB = 0, 7, 8, 9, 12
_MIX = np.uint64(0x9E3779B97F4A7C15)
"""An odd number that spreads the bits of a header; heads found alike by it are then compared."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Column:
    """Where a column of a shape lies in its rows."""

    kind: int
    """SQLite's serial type."""
    at: int
    size: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Shape:
    """Rows that are laid out alike: the same columns in the same places."""

    index: Integers
    """Which rows of the run these are."""
    rowid: Integers
    columns: tuple[Column, ...]
    cells: Bytes
    """One row of bytes for each."""
    numbers: tuple[Integers | None, ...]
    """The columns that hold whole numbers; None for the others."""


def leaf_numbers(read: ReadPages, root: int) -> list[int]:
    """Find the pages that hold a table's rows, in the order of the rowid."""
    level = [root]
    for _ in range(_DEEPEST):
        pages = read(level).rows
        kinds = set(pages[:, 0].tolist())
        if kinds == {LEAF}:
            return level
        if kinds != {INTERIOR}:
            raise ValueError(f"a page of kind {min(kinds)} stands where a table's page belongs")
        level = [child for page in pages for child in _children(page)]
    raise ValueError(f"its table is more than {_DEEPEST} pages deep")


def shapes(pages: Pages) -> Iterator[Shape]:
    """Give the rows of some leaf pages, those that are laid out alike together."""
    whole = pages.whole
    sizes, at = _varints(whole, _cells(pages.rows))
    rowid, at = _varints(whole, at)
    if len(at) == 0:
        return
    if (
        int(sizes.max()) > pages.size - _OVERFLOW_FROM
        or int((at + sizes).max()) > len(whole) - ROOM
    ):
        raise ValueError("a row goes on past its page, which none that is written here does")
    keys = _keys(whole, at, sizes)
    for key in np.unique(keys):
        index = np.flatnonzero(keys == key)
        yield _shape(whole, index, rowid[index], at[index], int(sizes[index[0]]))


def _children(page: Bytes) -> Iterator[int]:
    data, count = page.tobytes(), int(page[3]) << 8 | int(page[4])
    for number in range(count):
        at = _INTERIOR_HEAD + 2 * number
        cell = int.from_bytes(data[at : at + 2])
        yield int.from_bytes(data[cell : cell + 4])
    yield int.from_bytes(data[8:12])


def _cells(pages: Bytes) -> Integers:
    """Find where each cell begins, counted from the first page's first byte."""
    counts = pages[:, 3].astype(np.int64) << 8 | pages[:, 4]
    most = int(counts.max(initial=0))
    if _LEAF_HEAD + 2 * most > pages.shape[1]:
        raise ValueError(f"a page claims to hold {most} rows")
    # A page with fewer rows than the fullest has other things in their places.
    held = np.arange(most)[None, :] < counts[:, None]
    pointers = np.ascontiguousarray(pages[:, _LEAF_HEAD : _LEAF_HEAD + 2 * most]).view(">u2")
    inside: Integers = pointers[held].astype(np.int64)
    if int(inside.max(initial=0)) >= pages.shape[1]:
        raise ValueError("a row begins past its page")
    inside += np.repeat(np.arange(len(pages)) * pages.shape[1], counts)
    return inside


def _varints(whole: Bytes, at: Integers) -> tuple[Integers, Integers]:
    """Read a number of one to nine bytes at each place, and say where it ends (section 1.6)."""
    byte = whole[at].astype(np.int64)
    value, after, more = byte & 0x7F, at + 1, byte > 0x7F
    for _ in range(_LONGEST_VARINT - 2):
        if not more.any():
            return value, after
        byte = whole[np.where(more, after, 0)].astype(np.int64)
        value = np.where(more, value << 7 | byte & 0x7F, value)
        after = after + more
        more = more & (byte > 0x7F)
    raise ValueError("a number has more bytes than any that is written here")


def _keys(whole: Bytes, at: Integers, sizes: Integers) -> NDArray[np.uint64]:
    """Give rows with the same head the same number."""
    words = np.ndarray(shape=(len(whole) - 7,), dtype="<u8", buffer=whole, strides=(1,))
    heads = _varints(whole, at)[0]
    if int(heads.min()) < 8 or bool((heads > sizes).any()):  # noqa: PLR2004 - bytes read at once
        raise ValueError("a row's head is shorter or longer than any that is written here")
    keys = sizes.astype(np.uint64) * _MIX
    for first in range(0, int(heads.max()), 8):
        # The last bytes of a head are read as its last whole word: overlap does no harm.
        place = np.minimum(first, heads - 8)
        keys = (keys ^ words[at + place]) * _MIX
        keys ^= keys >> np.uint64(29)
    return keys


def _shape(whole: Bytes, index: Integers, rowid: Integers, at: Integers, size: int) -> Shape:
    rows = np.ndarray(shape=(len(whole) - size + 1,), dtype=f"V{size}", buffer=whole, strides=(1,))
    cells = rows[at].view(np.uint8).reshape(len(at), size)
    columns, head = _columns(cells[0], size)
    if bool((cells[:, :head] != cells[0, :head]).any()):
        raise ValueError("rows that differ look alike")
    numbers = tuple(_integers(cells, column) for column in columns)
    return Shape(index=index, rowid=rowid, columns=columns, cells=cells, numbers=numbers)


def _integers(cells: Bytes, column: Column) -> Integers | None:
    if column.kind in (ZERO, ONE):
        return np.full(len(cells), column.kind - ZERO, dtype=np.int64)
    if not NULL < column.kind < REAL:
        return None
    # The last of eight bytes is the column's own; what stands before it is shifted out.
    at, shift = column.at + column.size - 8, 64 - 8 * column.size
    wide = np.ndarray((len(cells),), ">i8", cells, at, (cells.shape[1],)).astype(np.int64)
    wide <<= shift
    wide >>= shift
    return wide


def _columns(row: Bytes, size: int) -> tuple[tuple[Column, ...], int]:
    """Read the head of a row: a serial type for each column, and how long the head is."""
    start = np.zeros(1, dtype=np.int64)
    room = np.concatenate((row, np.zeros(ROOM, dtype=np.uint8)))
    length, place = _varints(room, start)
    head = body = int(length[0])
    columns = []
    while int(place[0]) < head:
        kind, place = _varints(room, place)
        column = Column(kind=int(kind[0]), at=body, size=_size(int(kind[0])))
        columns.append(column)
        body += column.size
    if body != size:
        raise ValueError(f"a row has {size} bytes, and its columns {body}")
    return tuple(columns), head


def _size(kind: int) -> int:
    if kind < len(_SIZES):
        return _SIZES[kind]
    if kind < FIRST_BLOB:
        raise ValueError(f"a column has the kind {kind}, which means nothing")
    return (kind - FIRST_BLOB) // 2
