"""What was found wrong in a record afterwards: added with who, when and why, never written over.

An amendment is a row of its own, chained to the one before it like every other row; what it speaks
of stays as it was recorded. The table is made with its first row, by who holds the folder's lock.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import closing
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from firmware_host.errors import InputError, RecordError
from firmware_host.outputs.folder_lock import FolderLock
from firmware_host.outputs.record_reader import RawRow, Record, open_record
from firmware_host.outputs.record_rows import Cells, checked, row_check
from firmware_host.outputs.record_schema import into
from firmware_host.outputs.seal import seal, unseal

TABLE = "amendment"
LONGEST = 2_000
_MAKE = f"""CREATE TABLE IF NOT EXISTS {TABLE}(n INTEGER PRIMARY KEY, at TEXT NOT NULL,
    by TEXT NOT NULL, why TEXT NOT NULL, text TEXT NOT NULL, crc INTEGER NOT NULL) STRICT"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Amendment:
    """One of them."""

    n: int
    at: str
    """Date and time with offset, RFC 3339."""
    by: str
    why: str
    text: str


def amend(folder: Path, at: datetime, *, by: str, why: str, text: str) -> Amendment:
    """Add an amendment to a job that nobody records.

    Raises InputError for words that are missing or too long, BusyError where a daemon writes there,
    RecordError where the record does not take it.
    """
    for name, words in (("--by", by), ("--why", why), ("the text", text)):
        if not words.strip() or len(words) > LONGEST:
            raise InputError([f"{name} needs 1 to {LONGEST} letters, it has {len(words.strip())}."])
    lock = FolderLock(folder)
    try:
        was_sealed = unseal(folder)
        added = _add(folder, at.isoformat(timespec="seconds"), by, why, text)
        if was_sealed:
            seal(folder)
        return added
    finally:
        lock.release()


def amendments(record: Record) -> Iterator[Amendment]:
    """Give every amendment in order. Raises RecordError for one that was changed."""
    for problem in changed_amendments(record):
        raise RecordError(problem)
    for row in _rows(record):
        n, at, by, why, text = row.cells
        yield Amendment(n=int(str(n)), at=str(at), by=str(by), why=str(why), text=str(text))


def changed_amendments(record: Record) -> Iterator[str]:
    """Name every amendment that is not what was added, or is there no more."""
    last, crc = 0, 0
    for row in _rows(record):
        if row.number != last + 1:
            yield f"{record.path}: amendment {last + 1} to {row.number - 1} were taken away"
        elif row_check(TABLE, row.cells, crc) != row.crc:
            yield f"{record.path}: amendment {row.number} was changed"
        last, crc = row.number, row.crc


def _add(folder: Path, at: str, by: str, why: str, text: str) -> Amendment:
    with open_record(folder) as record:
        for problem in changed_amendments(record):
            raise RecordError(f"{problem}; nothing is added to a changed record.")
        last = record.last_row(TABLE) if record.has_table(TABLE) else None
        path = record.path
    n, before = (1, 0) if last is None else (last.number + 1, last.crc)
    cells: Cells = (n, at, by, why, text)
    try:
        with closing(sqlite3.connect(f"{path.absolute().as_uri()}?mode=rw", uri=True)) as target:
            # Without a write-ahead log a commit is the end of a journal's name: that is synced too.
            target.execute("PRAGMA synchronous=EXTRA")
            target.execute(_MAKE)
            row = checked(TABLE, cells, before)
            target.execute(f"INSERT {into(TABLE, len(row))}", row)
            target.commit()
    except sqlite3.Error as error:
        raise RecordError(
            f"{path} does not take the amendment: {error}. Check the disk."
        ) from error
    return Amendment(n=n, at=at, by=by, why=why, text=text)


def _rows(record: Record) -> Iterator[RawRow]:
    if record.has_table(TABLE):
        yield from record.raw_rows(TABLE)
