"""Whether a job folder still holds what was written into it, and what was changed.

Every row carries a check that goes on from the row before; sessions that ended note how many rows
stood there; the record knows the fingerprint of `job.toml`. This finds rot and careless hands. It
is no seal: whoever can write the file can also compute the checks anew.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import chain as one_after_another
from itertools import pairwise
from pathlib import Path

from firmware_host.errors import RecordError
from firmware_host.outputs.amendment import changed_amendments
from firmware_host.outputs.attachment import changed_attachments
from firmware_host.outputs.head_chain import NO_HEAD, HeadChain
from firmware_host.outputs.record_reader import RawRow, Record, open_record
from firmware_host.outputs.record_rows import row_bytes, row_check
from firmware_host.outputs.record_schema import META_TABLES
from firmware_host.outputs.seal import broken_seals

_Place = tuple[int, int]
"""First and last input of a span in which something was changed."""
MOST_NAMED = 20
"""A file that rotted all over is named by its first places."""


def find_changes(folder: Path) -> tuple[str, ...]:
    """Name what was changed in a job folder since it was written; empty where nothing was.

    Raises RecordError for a record that cannot be opened at all.
    """
    with open_record(folder) as record:
        found: list[str] = []
        for change in one_after_another(_changes(record), broken_seals(record.folder)):
            if len(found) == MOST_NAMED:
                return (*found, "and more; the first places are named")
            found.append(change)
    return tuple(found)


def missing_head(folder: Path, sha256: str) -> tuple[str, ...]:
    """Say that a hash somebody kept is not the record's, in one line; nothing where it is.

    Together with `find_changes` that says whether the record still holds what it held then: a
    chain computed anew over changed rows has other hashes.
    """
    with open_record(folder, frames_too=False) as record:
        if any(head.sha256 == sha256.strip().lower() for head in record.heads()):
            return ()
        return (f"{record.path}: the hash {sha256} is nowhere in its chain: not these rows",)


def _changes(record: Record) -> Iterator[str]:
    yield from _broken_text(record)
    try:
        yield from _broken_copy(record)
        places: list[_Place] = []
        yield from _broken_chain(record.raw_inputs(), "input", record, places)
        yield from _broken_chain(record.raw_rows("event"), "event", record, places)
        for table in ("session", "wall_clock", "lost", "head"):
            yield from _broken_rows(record, table)
        if not any(_broken_rows(record, "head")):
            yield from _broken_heads(record, places)
        yield from _missing_end(record)
        yield from changed_attachments(record)
        yield from changed_amendments(record)
    except RecordError as error:
        yield str(error)


def _broken_text(record: Record) -> Iterator[str]:
    try:
        record.job_toml()
    except RecordError as error:
        yield str(error)


def _broken_copy(record: Record) -> Iterator[str]:
    copy = META_TABLES[1]
    if not record.has_table(copy):
        return  # a record of an earlier version
    for key, value, crc in record.entries(copy):
        if row_check(copy, (key, value)) != crc:
            yield f"{record.path}: the second copy of its entry {key!r} was changed"


def _broken_rows(record: Record, table: str) -> Iterator[str]:
    for row in record.raw_rows(table) if record.has_table(table) else ():
        if row_check(table, row.cells) != row.crc:
            yield f"{record.path}: row {row.number} of {table} was changed"


def _broken_chain(
    rows: Iterator[RawRow], what: str, record: Record, places: list[_Place]
) -> Iterator[str]:
    """Name the rows that do not fit their checks, and note their places in the order of inputs."""
    last, last_place, crc = 0, 0, 0
    for row in rows:
        place, _ = row.place_in_order()
        if row.number != last + 1:
            yield f"{record.path}: {what} {last + 1} to {row.number - 1} were taken away"
            places.append((last_place, place))
        elif row_check(row.table, row.cells, crc) != row.crc:
            yield f"{record.path}: {what} {row.number} was changed{_when(record, row)}"
            places.append((place, place))
        last, last_place, crc = row.number, place, row.crc


def _broken_heads(record: Record, places: Sequence[_Place]) -> Iterator[str]:
    """Hold every block of rows against its hash: checks can be computed anew, this cannot.

    A block in which a row was named already has nothing to add.
    """
    rows = record.raw_said(NO_HEAD)
    row = next(rows, None)
    for before, head in pairwise((NO_HEAD, *record.heads())):
        chain = HeadChain(before)
        while row is not None and row.place_in_order()[0] <= head.inputs:
            take = chain.take_event if row.table == "event" else chain.take_input
            take(row_bytes(row.table, row.cells))
            row = next(rows, None)
        is_named = any(start <= head.inputs and end > before.inputs for start, end in places)
        if chain.end_block() != head and not is_named:
            first = before.inputs + 1
            yield f"{record.path}: input {first} to {head.inputs} do not fit the hash over them"


def _when(record: Record, row: RawRow) -> str:
    try:
        if row.table == "event":
            return f" (said at {record.decode_event(row).event.time_s:.3f} s)"
        return f" (at {record.decode_input(row).given.time_s:.3f} s)"
    except RecordError:
        return ""


def _missing_end(record: Record) -> Iterator[str]:
    sessions = record.sessions()
    last_input = max(_last(record, table) for table in record.input_tables)
    for what, stood, last in (
        ("input", max((session.inputs or 0 for session in sessions), default=0), last_input),
        (
            "event",
            max((session.events or 0 for session in sessions), default=0),
            _last(record, "event"),
        ),
    ):
        if stood > last:
            yield f"{record.path}: {what} {last + 1} to {stood} were taken away"


def _last(record: Record, table: str) -> int:
    row = record.last_row(table)
    return 0 if row is None else row.number
