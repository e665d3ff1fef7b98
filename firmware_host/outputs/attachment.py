"""Pages kept in the record: what was handed out stays beside what it was made from.

A page that lies in the job folder is taken into the record's table `attachment` with its SHA-256,
once; another page by the same name is a further row, nothing is written over. Only who holds the
folder's lock does this: a record that a daemon writes is left alone, and the daemon takes the page
in itself when it stops. The table is made with its first row, so that a record without one is as
it always was.
"""

from __future__ import annotations

import hashlib
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path

from firmware_host.errors import RecordError
from firmware_host.outputs.folder_lock import FolderLock
from firmware_host.outputs.record_reader import Record, open_record
from firmware_host.outputs.record_rows import Cell, Cells, checked, row_check
from firmware_host.outputs.record_schema import PAGE_NAME, into
from firmware_host.outputs.seal import seal, unseal

TABLE = "attachment"
_MAKE = f"""CREATE TABLE IF NOT EXISTS {TABLE}(n INTEGER PRIMARY KEY, name TEXT NOT NULL,
    inputs INTEGER NOT NULL, events INTEGER NOT NULL, sha256 TEXT NOT NULL, body BLOB NOT NULL,
    crc INTEGER NOT NULL) STRICT"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Attachment:
    """One page in a record."""

    n: int
    name: str
    inputs: int
    """Rows that the record held when the page was taken in."""
    events: int
    sha256: str
    body: bytes


def attach_page(folder: Path, *, frames_too: bool = True) -> bool:
    """Take the folder's page into its record; False where there is none, or it is in already.

    Whoever has just read every frame need not have their pages looked at: `frames_too`. Raises
    BusyError where a daemon writes there, RecordError where the record does not take it.
    """
    page = folder / PAGE_NAME
    if not page.is_file():
        return False
    lock = FolderLock(folder)
    try:
        was_sealed = unseal(folder)
        taken = _attach(folder, page.name, page.read_bytes(), frames_too=frames_too)
        if was_sealed:
            seal(folder)
        return taken
    finally:
        lock.release()


def attachments(record: Record) -> Iterator[Attachment]:
    """Give every page of a record. Raises RecordError for one that was changed."""
    for cells, crc in _rows(record):
        held = _attachment(cells)
        if _is_changed(held, cells, crc):
            raise RecordError(_changed(record, held))
        yield held


def changed_attachments(record: Record) -> Iterator[str]:
    """Name every page in a record that is not what was taken in, or is there no more."""
    last = 0
    for cells, crc in _rows(record):
        held = _attachment(cells)
        if held.n != last + 1:
            yield f"{record.path}: attachment {last + 1} to {held.n - 1} were taken away"
        if _is_changed(held, cells, crc):
            yield _changed(record, held)
        last = held.n


def _changed(record: Record, held: Attachment) -> str:
    return f"{record.path}: attachment {held.n} ({held.name}) was changed"


def _attach(folder: Path, name: str, body: bytes, *, frames_too: bool) -> bool:
    sha256 = hashlib.sha256(body).hexdigest()
    with open_record(folder, frames_too=frames_too) as record:
        held = [_attachment(cells) for cells, _ in _rows(record)]
        if any(one.name == name and one.sha256 == sha256 for one in held):
            return False
        n = max((one.n for one in held), default=0) + 1
        cells: Cells = (n, name, record.last_input, record.event_count, sha256, body)
        path = record.path
    try:
        with closing(sqlite3.connect(f"{path.absolute().as_uri()}?mode=rw", uri=True)) as target:
            # Without a write-ahead log a commit is the end of a journal's name: that is synced too.
            target.execute("PRAGMA synchronous=EXTRA")
            target.execute(_MAKE)
            row = checked(TABLE, cells)
            target.execute(f"INSERT {into(TABLE, len(row))}", row)
            target.commit()
    except sqlite3.Error as error:
        raise RecordError(f"{path} does not take {name} in: {error}. Check the disk.") from error
    return True


def _rows(record: Record) -> Iterator[tuple[Cells, int]]:
    if record.has_table(TABLE):
        yield from ((row.cells, row.crc) for row in record.raw_rows(TABLE))


def _attachment(cells: Cells) -> Attachment:
    n, name, inputs, events, sha256, body = cells
    return Attachment(
        n=_whole(n),
        name=str(name),
        inputs=_whole(inputs),
        events=_whole(events),
        sha256=str(sha256),
        body=body if isinstance(body, bytes) else b"",
    )


def _whole(cell: Cell) -> int:
    return cell if isinstance(cell, int) else 0


def _is_changed(held: Attachment, cells: Cells, crc: int) -> bool:
    return row_check(TABLE, cells) != crc or hashlib.sha256(held.body).hexdigest() != held.sha256
