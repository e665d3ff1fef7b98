"""Whether a job folder still holds what was written into it, and what was changed.

Every row carries a check that goes on from the row before; sessions that ended note how many rows
stood there; the record knows the fingerprint of `job.toml`. This finds rot and careless hands. It
is no seal: whoever can write the file can also compute the checks anew.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import chain
from pathlib import Path

from firmware_host.errors import RecordError
from firmware_host.outputs.amendment import changed_amendments
from firmware_host.outputs.attachment import changed_attachments
from firmware_host.outputs.record_reader import RawRow, Record, open_record
from firmware_host.outputs.record_rows import row_check
from firmware_host.outputs.record_schema import META_TABLES
from firmware_host.outputs.seal import broken_seals

MOST_NAMED = 20
"""A file that rotted all over is named by its first places."""


def find_changes(folder: Path) -> tuple[str, ...]:
    """Name what was changed in a job folder since it was written; empty where nothing was.

    Raises RecordError for a record that cannot be opened at all.
    """
    with open_record(folder) as record:
        found: list[str] = []
        for change in chain(_changes(record), broken_seals(record.folder)):
            if len(found) == MOST_NAMED:
                return (*found, "and more; the first places are named")
            found.append(change)
    return tuple(found)


def _changes(record: Record) -> Iterator[str]:
    yield from _broken_text(record)
    try:
        yield from _broken_copy(record)
        yield from _broken_chain(record.raw_inputs(), "input", record)
        yield from _broken_chain(record.raw_rows("event"), "event", record)
        for table in ("session", "wall_clock", "lost"):
            yield from (
                f"{record.path}: row {row.number} of {table} was changed"
                for row in record.raw_rows(table)
                if row_check(table, row.cells) != row.crc
            )
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


def _broken_chain(rows: Iterator[RawRow], what: str, record: Record) -> Iterator[str]:
    last, crc = 0, 0
    for row in rows:
        if row.number != last + 1:
            yield f"{record.path}: {what} {last + 1} to {row.number - 1} were taken away"
        elif row_check(row.table, row.cells, crc) != row.crc:
            yield f"{record.path}: {what} {row.number} was changed{_when(record, row)}"
        last, crc = row.number, row.crc


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
