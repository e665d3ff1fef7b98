from __future__ import annotations

import sqlite3
from collections.abc import Sequence
from contextlib import closing
from pathlib import Path

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from firmware_host.outputs.record_pages import RecordPages
from firmware_host.outputs.record_rows import Cell, row_check
from firmware_host.outputs.row_checks import row_checks
from firmware_host.outputs.table_pages import Shape, leaf_numbers, shapes

SMALL_PAGE = 512
"""The least that SQLite takes: a few hundred rows already need a tree of three levels."""
WHOLE = st.integers(-(1 << 63), (1 << 63) - 1) | st.sampled_from(
    [
        *(edge + step for edge in (0, 127, 255, 65535, 1 << 31, 1 << 32) for step in (-1, 0, 1)),
        *(-edge + step for edge in (32, 128, 32768, 1 << 23, 1 << 31) for step in (-1, 0, 1)),
    ]
)
CELL = st.one_of(st.none(), WHOLE, st.text(max_size=60).filter(lambda t: "\0" not in t))
ANY_CELL = CELL | st.binary(max_size=200) | st.floats(allow_nan=False).filter(lambda f: f % 1.0)
ROWS = st.lists(st.tuples(WHOLE, CELL, ANY_CELL, WHOLE, WHOLE, WHOLE), max_size=30)


def written(path: Path, rows: Sequence[Sequence[Cell]], first: int = 1) -> Path:
    """Make a table of rows by their numbers, each with a check that goes on from the last one."""
    with closing(sqlite3.connect(path)) as target:
        target.execute(f"PRAGMA page_size={SMALL_PAGE}")
        target.execute(
            "CREATE TABLE t(n INTEGER PRIMARY KEY, a INTEGER, b ANY, c ANY, d INTEGER, "
            "e INTEGER, f INTEGER, crc INTEGER NOT NULL) STRICT"
        )
        before = 0
        for number, row in enumerate(rows, start=first):
            cells = (number, *row)
            before = row_check("t", cells, before)
            marks = ",".join("?" * (len(cells) + 1))
            target.execute(f"INSERT INTO t VALUES({marks})", (*cells, before))
        target.commit()
    return path


def read(path: Path) -> list[Shape]:
    with closing(sqlite3.connect(path)) as connection:
        root = connection.execute("SELECT rootpage FROM sqlite_schema").fetchone()[0]
        pages = RecordPages(connection, path)
    try:
        return list(shapes(pages.read(leaf_numbers(pages.read, root))))
    finally:
        pages.close()


def in_order(held: Sequence[Shape], parts: Sequence[np.typing.NDArray[np.uint32]]) -> list[int]:
    whole = np.zeros(sum(map(len, parts)), dtype=np.uint32)
    for shape, part in zip(held, parts, strict=True):
        whole[shape.index] = part
    return [int(one) for one in whole]


@settings(
    max_examples=150, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(rows=ROWS, first=st.sampled_from([1, 100, 126, 65530, 1 << 31, 1 << 40]))
def test_checks_of_many_rows_are_those_of_each_row(
    tmp_path_factory: pytest.TempPathFactory, rows: list[tuple[Cell, ...]], first: int
) -> None:
    path = written(tmp_path_factory.mktemp("checks") / "x.sqlite", rows, first)
    held = read(path)
    with closing(sqlite3.connect(path)) as connection:
        stored = [one & 0xFFFFFFFF for (one,) in connection.execute("SELECT crc FROM t")]
    before = np.array([0, *stored[:-1]], dtype=np.uint32)
    assert in_order(held, [row_checks("t", one, before[one.index]) for one in held]) == stored


@settings(
    max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(rows=ROWS)
def test_whole_numbers_come_out_of_the_pages_as_they_went_in(
    tmp_path_factory: pytest.TempPathFactory, rows: list[tuple[Cell, ...]]
) -> None:
    found: dict[int, list[int | None]] = {}
    for shape in read(written(tmp_path_factory.mktemp("numbers") / "x.sqlite", rows)):
        for place, number in enumerate(shape.rowid.tolist()):
            cells = [None if one is None else int(one[place]) for one in shape.numbers[1:-1]]
            found[number] = cells
    expected = {
        number: [cell if isinstance(cell, int) else None for cell in row]
        for number, row in enumerate(rows, start=1)
    }
    assert found == expected


def test_a_tree_of_several_levels_is_walked_in_the_order_of_its_rows(tmp_path: Path) -> None:
    row: tuple[Cell, ...] = (1, "x" * 60, None, 2, 3, 4)
    path = written(tmp_path / "deep.sqlite", [row] * 3000)
    (shape, *others) = sorted(read(path), key=lambda one: -len(one.index))
    numbers = np.concatenate([shape.rowid, *(one.rowid for one in others)])
    order = np.concatenate([shape.index, *(one.index for one in others)])
    assert numbers[np.argsort(order)].tolist() == list(range(1, 3001))


def test_pages_that_hold_few_rows_stand_among_those_that_hold_many(tmp_path: Path) -> None:
    rows: list[tuple[Cell, ...]] = [
        (1, "x" * (200 if number % 40 < 5 else 3), b"\xff" * 9, 2, 3, 4) for number in range(400)
    ]
    path = written(tmp_path / "mixed.sqlite", rows)
    assert sum(len(shape.index) for shape in read(path)) == 400


def test_a_row_that_is_longer_than_a_page_is_refused(tmp_path: Path) -> None:
    longest = SMALL_PAGE - 35 - 17  # a head of 10 bytes, 3 numbers of one, the check of four
    fits: tuple[Cell, ...] = (1, "x" * longest, None, 2, 3, 4)
    assert len(read(written(tmp_path / "fits.sqlite", [fits]))) == 1
    longer: tuple[Cell, ...] = (1, "x" * (longest + 1), None, 2, 3, 4)
    with pytest.raises(ValueError, match="a row goes on past its page"):
        read(written(tmp_path / "longer.sqlite", [longer]))


@pytest.mark.parametrize(
    ("at", "value", "said"),
    [
        (0, 0x0A, "a page of kind 10 stands where a table's page belongs"),
        (3, 0xFF, "a page claims to hold 65"),
        (8, 0xFF, "a row begins past its page"),
    ],
)
def test_a_page_that_is_laid_out_otherwise_is_refused(
    tmp_path: Path, at: int, value: int, said: str
) -> None:
    path = written(tmp_path / "x.sqlite", [(1, None, None, 2, 3, 4)] * 3)
    with path.open("r+b") as file:
        file.seek(SMALL_PAGE + at)
        file.write(bytes([value]))
    with pytest.raises(ValueError, match=said):
        read(path)


def test_a_file_that_was_cut_off_is_refused(tmp_path: Path) -> None:
    path = written(tmp_path / "x.sqlite", [(1, None, None, 2, 3, 4)] * 300)
    with closing(sqlite3.connect(path)) as connection:
        pages = RecordPages(connection, path)
        with path.open("r+b") as file:
            file.truncate(SMALL_PAGE * 4)
        with pytest.raises(ValueError, match="the file ends before its last page"):
            pages.read([3, 4, 5])
        with pytest.raises(ValueError, match="none of its"):
            pages.read([1 << 20])
    pages.close()
    with pytest.raises(ValueError, match="the record is closed"):
        pages.read([3])


def test_pages_that_still_lie_in_the_log_are_read_as_well(tmp_path: Path) -> None:
    path = written(tmp_path / "x.sqlite", [(1, None, None, 2, 3, 4)] * 3)
    with closing(sqlite3.connect(path, isolation_level=None)) as writer:
        writer.execute("PRAGMA journal_mode=WAL")
        writer.execute("PRAGMA wal_autocheckpoint=0")
        writer.execute("INSERT INTO t VALUES(4, 5, NULL, NULL, 6, 7, 8, 9)")
        numbers = [shape.rowid.tolist() for shape in read(path)]
    assert sorted(one for held in numbers for one in held) == [1, 2, 3, 4]
