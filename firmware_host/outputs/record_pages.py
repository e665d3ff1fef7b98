"""Pages of a record's file as one moment of it holds them, for whoever reads rows by the million.

Needs a connection that is inside a read transaction: it is what keeps the moment. Where changes
may still lie in a write-ahead log, SQLite itself puts the pages together.
"""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Iterator, Sequence
from itertools import pairwise
from pathlib import Path

import numpy as np

from firmware_host.outputs.table_pages import ROOM, Pages


class RecordPages:
    """Reads pages by their numbers; close it after the connection, never before.

    Closing any handle of a file gives up the locks that the process holds on it, SQLite's too.
    """

    def __init__(self, connection: sqlite3.Connection, path: Path) -> None:
        self._size = int(connection.execute("PRAGMA page_size").fetchone()[0])
        self._count = int(connection.execute("PRAGMA page_count").fetchone()[0])
        self._image: memoryview | None = None
        self._handle: int | None = None
        self._buffer = np.zeros(0, dtype=np.uint8)
        if connection.execute("PRAGMA journal_mode").fetchone()[0] == "wal":
            self._image = memoryview(connection.serialize())
        else:
            self._handle = os.open(path, os.O_RDONLY)

    def read(self, numbers: Sequence[int]) -> Pages:
        """Give pages; the same memory serves every time. ValueError for one that is not there."""
        size, count = self._size, len(numbers)
        if not 1 <= min(numbers) <= max(numbers) <= self._count:
            raise ValueError(f"a page is asked for that is none of its {self._count}")
        if len(self._buffer) < count * size + ROOM:
            self._buffer = np.zeros(count * size + ROOM, dtype=np.uint8)
        self._buffer[count * size : count * size + ROOM] = 0
        target = self._buffer.data
        for place, first, length in _neighbours(numbers):
            self._fill(target[place * size : (place + length) * size], (first - 1) * size)
        return Pages(size=size, count=count, whole=self._buffer[: count * size + ROOM])

    def close(self) -> None:
        """Let go of the file."""
        if self._handle is not None:
            os.close(self._handle)
        self._handle = self._image = None

    def _fill(self, target: memoryview, start: int) -> None:
        if self._image is not None:
            target[:] = self._image[start : start + len(target)]
        elif self._handle is None:
            raise ValueError("the record is closed")
        elif os.preadv(self._handle, [target], start) < len(target):
            raise ValueError("the file ends before its last page")


def _neighbours(numbers: Sequence[int]) -> Iterator[tuple[int, int, int]]:
    """Give runs of pages that lie side by side: place in the order asked for, first, length."""
    wanted = np.array(numbers)
    starts = [0, *(np.flatnonzero(np.diff(wanted) != 1) + 1).tolist(), len(numbers)]
    for start, end in pairwise(starts):
        yield start, numbers[start], end - start
