"""Rows straight from the pages of a file, against what SQLite itself says of the same file."""

from __future__ import annotations

import sqlite3
from collections.abc import Sequence
from contextlib import closing
from pathlib import Path

import numpy as np

from firmware_host.outputs.table_pages import ROOM, Pages, leaf_numbers, shapes

PAGE_BYTES = 4096


def pages_of(data: bytes, numbers: Sequence[int]) -> Pages:
    chosen = [data[PAGE_BYTES * (number - 1) : PAGE_BYTES * number] for number in numbers]
    whole = np.frombuffer(b"".join(chosen) + bytes(ROOM), dtype=np.uint8)
    return Pages(size=PAGE_BYTES, count=len(numbers), whole=whole)


def test_pages_that_hold_fewer_rows_than_others_are_read_too(tmp_path: Path) -> None:
    path = tmp_path / "rows.sqlite"
    # Long rows of high bytes reach to where a page of short rows says where its rows begin.
    words = [b"\xff" * length for length in (20, 100, 20, 300, 20) for _ in range(400)]
    with closing(sqlite3.connect(path)) as made, made:
        made.execute(f"PRAGMA page_size = {PAGE_BYTES}")
        made.execute("CREATE TABLE t (n INTEGER PRIMARY KEY, a, b, c, d, e, f, g, word)")
        rows = [(n, *[None] * 7, word) for n, word in enumerate(words, start=1)]
        made.executemany("INSERT INTO t VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)", rows)
        (root,) = made.execute("SELECT rootpage FROM sqlite_schema WHERE name = 't'").fetchone()
    data = path.read_bytes()
    leaves = leaf_numbers(lambda numbers: pages_of(data, numbers), root)
    held = list(shapes(pages_of(data, leaves)))
    sizes = {
        int(rowid): shape.columns[-1].size
        for shape in held
        for rowid in shape.rowid
    }  # fmt: skip
    assert sizes == {n: len(word) for n, word in enumerate(words, start=1)}
