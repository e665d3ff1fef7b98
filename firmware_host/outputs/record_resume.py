"""What a writer, and a daemon that comes back after a cut, must know of a record."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from firmware_host.model.samples import Mark
from firmware_host.outputs.head_chain import NO_HEAD, Head, HeadChain
from firmware_host.outputs.record_reader import RawRow, Record, open_record
from firmware_host.outputs.record_rows import row_bytes
from firmware_host.outputs.record_schema import RecordMeta, Session, WallClock


@dataclass(frozen=True, slots=True, kw_only=True)
class ResumePoint:
    """Where a record stands."""

    meta: RecordMeta
    inputs: int
    """Number of the last input; the next one is one more."""
    input_crc: int
    frames: int
    events: int
    """Number of the last event."""
    event_crc: int
    last_time_s: float | None
    """Latest time that the record knows; None before the first input."""
    session: Session | None
    """The last run over this job; its `clean` tells whether it was cut off."""
    wall: WallClock | None
    """The last note of the wall clock, to bridge a reboot."""
    is_over: bool
    """Whether the job has ended, so that nothing is left to resume."""
    head: Head | None
    """The last block of the chain of hashes; None where there is none yet."""


def resume(folder: Path) -> ResumePoint:
    """Read where the record of a job folder stands. Raises RecordError like `open_record`."""
    # The frames' own pages are looked at when their rows are judged again, each by its check.
    with open_record(folder, frames_too=False) as record:
        return resume_point(record)


def resume_point(record: Record) -> ResumePoint:
    """Say where an open record stands."""
    rows = [row for table in record.input_tables if (row := record.last_row(table)) is not None]
    number, crc = max(((row.number, row.crc) for row in rows), default=(0, 0))
    event = record.last_row("event")
    sessions, walls, heads = record.sessions(), record.wall_clock(), record.heads()
    return ResumePoint(
        meta=record.meta,
        inputs=number,
        input_crc=crc,
        frames=number - record.other_count,  # inputs are numbered without holes
        events=0 if event is None else event.number,
        event_crc=0 if event is None else event.crc,
        last_time_s=max((_known_s(record, row) for row in rows), default=None),
        session=sessions[-1] if sessions else None,
        wall=walls[-1] if walls else None,
        is_over=record.is_over,
        head=heads[-1] if heads else None,
    )


def chain_of(record: Record) -> HeadChain | None:
    """Go on with the chain of hashes where a record stands; None in one that has no such table."""
    if not record.has_table("head"):
        return None
    heads = record.heads()
    chain = HeadChain(heads[-1] if heads else NO_HEAD)
    for row in record.raw_said(chain.last):
        take = chain.take_event if row.table == "event" else chain.take_input
        take(row_bytes(row.table, row.cells))
    return chain


def _known_s(record: Record, row: RawRow) -> float:
    given = record.decode_input(row).given
    # A mark may speak of the past; when it was heard never lies behind the inputs before it.
    return given.heard_s if isinstance(given, Mark) else given.time_s
