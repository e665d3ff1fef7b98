"""Reading a record: meta, inputs and events in order, equal to what the core saw and said.

Read-only, and one moment of the file: what a running writer adds after `open_record` is not seen.
A row whose check does not fit is never handed out as a value; the reader stops and names it.
"""

from __future__ import annotations

import hashlib
import heapq
import sqlite3
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, fields
from pathlib import Path
from types import TracebackType
from typing import TYPE_CHECKING, Any, Self, TypeVar

import msgspec

from firmware_host.errors import RecordError
from firmware_host.model.events import Event, Phase, PhaseEntered
from firmware_host.model.samples import Frame, Group, Input
from firmware_host.outputs.head_chain import Head
from firmware_host.outputs.record_file import finish_cut_write
from firmware_host.outputs.record_rows import (
    Cells,
    FrameRows,
    StoredEvent,
    StoredInput,
    decode_event,
    decode_other,
    row_check,
)
from firmware_host.outputs.record_schema import (
    JOB_NAME,
    RECORD_NAME,
    RecordMeta,
    Session,
    WallClock,
    damaged,
    read_meta,
    reading,
)

if TYPE_CHECKING:
    from firmware_host.outputs.record_pages import RecordPages
    from firmware_host.outputs.table_pages import Pages

_Row = TypeVar("_Row", Session, WallClock, Head)


@dataclass(frozen=True, slots=True, kw_only=True)
class RawRow:
    """A row as it lies in the file, before anybody believes it."""

    table: str
    cells: Cells
    crc: int

    @property
    def number(self) -> int:
        """Its `n`."""
        n = self.cells[0]
        return n if isinstance(n, int) else 0

    def place_in_order(self) -> tuple[int, int]:
        """Say where it stands among inputs and events: an event follows its input."""
        if self.table != "event":
            return self.number, 0
        after = self.cells[1]
        return after if isinstance(after, int) else 0, self.number


class Record:
    """An open record; close it, or use it in a `with`."""

    def __init__(self, path: Path, *, frames_too: bool = True) -> None:
        """Open the file and make sure that it is a sound record of ours; see `open_record`."""
        self.path = path
        self.folder = path.parent
        with reading(path):
            uri = f"{path.absolute().as_uri()}?mode=ro"
            self._connection = sqlite3.connect(uri, uri=True, isolation_level=None, timeout=1.0)
        try:
            self.meta = self._begin(frames_too=frames_too)
        except RecordError:
            self._connection.close()
            raise
        rows = (FrameRows(number, group) for number, group in enumerate(self.groups))
        self._frames = {frames.table: frames for frames in rows}
        self._pages: RecordPages | None = None
        self.frame_tables = tuple(self._frames)
        """One for each group, in their order."""
        self.input_tables = ("input", *self.frame_tables)

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()

    def close(self) -> None:
        """Let go of the file."""
        self._connection.close()
        if self._pages is not None:
            self._pages.close()

    @property
    def groups(self) -> tuple[Group, ...]:
        """Groups of channels that the frames speak of by number."""
        return self.meta.groups

    @property
    def frame_count(self) -> int:
        """Frames in the record."""
        return sum(self._count(table) for table in self._frames)

    @property
    def input_count(self) -> int:
        """Inputs of every kind in the record."""
        return self.frame_count + self.other_count

    @property
    def other_count(self) -> int:
        """Inputs that are no frames."""
        return self._count("input")

    @property
    def event_count(self) -> int:
        """Events in the record."""
        return self._count("event")

    @property
    def last_input(self) -> int:
        """Number of the last input."""
        rows = (self.last_row(table) for table in self.input_tables)
        return max((row.number for row in rows if row is not None), default=0)

    @property
    def lost_inputs(self) -> int:
        """Frames and ticks for which the writer had no room left; it said so at the time."""
        return int(self._one("SELECT coalesce(sum(inputs), 0) FROM lost")[0])

    @property
    def is_over(self) -> bool:
        """Whether the job has ended: its last phase is closed or abandoned."""
        row = self.last_row("event", "WHERE kind = 'phase'")
        last = None if row is None else self.decode_event(row).event
        return isinstance(last, PhaseEntered) and last.phase in (Phase.CLOSED, Phase.ABANDONED)

    def inputs(self) -> Iterator[Input]:
        """Every input in the order in which the core saw them."""
        return (stored.given for stored in self.stored_inputs())

    def stored_inputs(self) -> Iterator[StoredInput]:
        """Every input with its number, raw words and arrival."""
        before = 0
        for row in self.raw_inputs():
            self._believe(row, before)
            before = row.crc
            yield self.decode_input(row)

    def events(self) -> Iterator[Event]:
        """Every event in the order in which the core said them."""
        return (stored.event for stored in self.stored_events())

    def stored_events(self) -> Iterator[StoredEvent]:
        """Every event with its number and the input that led to it."""
        before = 0
        for row in self.raw_rows("event"):
            self._believe(row, before)
            before = row.crc
            yield self.decode_event(row)

    def sessions(self) -> tuple[Session, ...]:
        """Each run of the daemon over this job, the first one first."""
        return self._held("session", Session)

    def wall_clock(self) -> tuple[WallClock, ...]:
        """How the wall clock stood against the monotonic one, the first note first."""
        return self._held("wall_clock", WallClock)

    def job_toml(self) -> str:
        """Give the job description as poured, or raise RecordError where it was changed since."""
        path = self.folder / JOB_NAME
        try:
            held = path.read_bytes()
        except OSError as error:
            raise RecordError(f"{path} cannot be read: {error.strerror}") from error
        if hashlib.sha256(held).hexdigest() != self.meta.job_sha256:
            raise RecordError(f"{path} is not the text that was poured; put the old one back")
        return held.decode()

    def raw_inputs(self) -> Iterator[RawRow]:
        """Rows of all inputs in order, unchecked: for whoever looks for damage."""
        return heapq.merge(
            *(self.raw_rows(table) for table in self.input_tables), key=lambda row: row.number
        )

    def raw_said(self, after: Head) -> Iterator[RawRow]:
        """Rows of inputs and events after a block, as they were handed over; unchecked."""
        inputs = (self.raw_rows(table, after.inputs) for table in self.input_tables)
        return heapq.merge(*inputs, self.raw_rows("event", after.events), key=RawRow.place_in_order)

    def heads(self) -> tuple[Head, ...]:
        """Give the chain of hashes, the first block first; none in a record of an earlier time."""
        return self._held("head", Head) if self.has_table("head") else ()

    def raw_rows(self, table: str, after: int = 0) -> Iterator[RawRow]:
        """Rows of one table in order, unchecked; `after` leaves out those up to a number."""
        with reading(self.path):
            # `n` is the row's own key, so the order costs nothing.
            for row in self._connection.execute(
                f"SELECT * FROM {table} WHERE n > {after} ORDER BY n"
            ):
                yield RawRow(table=table, cells=row[:-1], crc=row[-1])

    def stored_others(self) -> Iterator[StoredInput]:
        """Every input that is no frame, in order, held to its check."""
        for row in self.raw_rows("input"):
            self._believe(row, self._check_of(row.number - 1))
            yield self.decode_input(row)

    def checks(self, table: str) -> list[tuple[int, int]]:
        """Give number and check of every row of a table, in order."""
        with reading(self.path):
            return self._connection.execute(f"SELECT n, crc FROM {table} ORDER BY n").fetchall()

    def root_page(self, table: str) -> int:
        """Give the page at which a table begins."""
        return int(self._one(f"SELECT rootpage FROM sqlite_schema WHERE name = '{table}'")[0])

    def read_pages(self, numbers: Sequence[int]) -> Pages:
        """Give pages of the file as they were when the record was opened; see `ReadPages`."""
        if self._pages is None:
            # Only the report reads by the page, and it takes the array library.
            from firmware_host.outputs.record_pages import RecordPages

            with reading(self.path):
                self._pages = RecordPages(self._connection, self.path)
        return self._pages.read(numbers)

    def thinned_frames(
        self, group: int, start_s: float, end_s: float, about: int
    ) -> Iterator[Frame]:
        """Give `about` so many frames of a group, evenly over a span; rows are not checked."""
        table = f"frame_{group}"
        first, last = (self._row_at(table, round(at_s * 1000.0)) for at_s in (start_s, end_s))
        stride = max(1, (last - first) // max(about, 1))
        after = 0
        with reading(self.path):
            # Each row for itself: what lies between is not even read, however long the job is.
            for wanted in range(first, last + stride, stride):
                row = self._connection.execute(
                    f"SELECT * FROM {table} WHERE n >= {max(wanted, after + 1)} ORDER BY n LIMIT 1"
                ).fetchone()
                if row is None or row[1] > end_s * 1000.0:
                    return
                after = row[0]
                given = self.decode_input(RawRow(table=table, cells=row[:-1], crc=row[-1])).given
                if isinstance(given, Frame) and given.time_s >= start_s:
                    yield given

    def _row_at(self, table: str, t_ms: int) -> int:
        """Find the first row at or after a moment by halving: times rise with the numbers."""
        newest = self.last_row(table)
        low, high = 1, 1 if newest is None else newest.number
        while low < high:
            middle = (low + high) // 2
            found = self._one(f"SELECT t_ms FROM {table} WHERE n >= {middle} ORDER BY n LIMIT 1")
            if found is not None and found[0] < t_ms:
                low = middle + 1
            else:
                high = middle
        return low

    def has_table(self, table: str) -> bool:
        """Whether the file holds a table that not every record has."""
        query = f"SELECT count(*) FROM sqlite_schema WHERE type = 'table' AND name = '{table}'"
        return bool(self._one(query)[0])

    def entries(self, table: str) -> list[tuple[str, str, int]]:
        """Give a table of what the record says about itself: key, value, check; unchecked."""
        with reading(self.path):
            return self._connection.execute(f"SELECT key, value, crc FROM {table}").fetchall()

    def decode_input(self, row: RawRow) -> StoredInput:
        """Read an input's row; RecordError where it is none."""
        try:
            if row.table == "input":
                return decode_other(row.cells)
            return self._frames[row.table].decode(row.cells)
        except (ValueError, msgspec.DecodeError) as error:
            raise damaged(self.path, f"input {row.number}: {error}") from error

    def decode_event(self, row: RawRow) -> StoredEvent:
        """Read an event's row; RecordError where it is none."""
        try:
            return decode_event(row.cells)
        except (ValueError, msgspec.DecodeError) as error:
            raise damaged(self.path, f"event {row.number}: {error}") from error

    def last_row(self, table: str, where: str = "") -> RawRow | None:
        """Give the newest row of a table, unchecked; None where it has none."""
        row = self._one(f"SELECT * FROM {table} {where} ORDER BY n DESC LIMIT 1")
        return None if row is None else RawRow(table=table, cells=row[:-1], crc=row[-1])

    def _begin(self, *, frames_too: bool) -> RecordMeta:
        with reading(self.path):
            self._connection.execute("BEGIN")
            meta = read_meta(self._connection, self.path)
            for table in self._whole_tables(frames_too=frames_too):
                found = self._connection.execute(f"PRAGMA quick_check({table})").fetchone()[0]
                if found != "ok":
                    raise damaged(self.path, str(found))
        return meta

    def _whole_tables(self, *, frames_too: bool) -> list[str]:
        """Say what is looked at when the record is opened: the whole file, or table by table."""
        if frames_too:
            return ["1"]  # not a table: all of them, up to the first fault
        names = "SELECT quote(name) FROM sqlite_schema WHERE type = 'table' AND name NOT GLOB ?"
        return [str(name) for (name,) in self._connection.execute(names, ("frame_*",))]

    def _held(self, table: str, kind: type[_Row]) -> tuple[_Row, ...]:
        names = [field.name for field in fields(kind)]
        held = []
        for row in self.raw_rows(table):
            self._believe(row, 0)
            held.append(msgspec.convert(dict(zip(names, row.cells, strict=True)), kind))
        return tuple(held)

    def _believe(self, row: RawRow, before: int) -> None:
        if row_check(row.table, row.cells, before) != row.crc:
            what = f"row {row.number} of {row.table} does not fit its check"
            raise damaged(self.path, what)

    def _check_of(self, number: int) -> int:
        """Give the check of an input; 0 where there is none by that number."""
        for table in self.input_tables:
            row = self._one(f"SELECT crc FROM {table} WHERE n = {number}")
            if row is not None:
                return int(row[0])
        return 0

    def _count(self, table: str) -> int:
        return int(self._one(f"SELECT count(*) FROM {table}")[0])

    def _one(self, query: str) -> Any:  # noqa: ANN401 - SQLite rows have no type
        with reading(self.path):
            return self._connection.execute(query).fetchone()


def open_record(place: Path, *, frames_too: bool = True) -> Record:
    """Open the record of a job folder, or a record by its own path, read-only.

    Every page of the file is looked at first; whoever reads all frames through `read_columns`, or
    has just done so, may leave out theirs. Raises RecordError for a missing, foreign, newer or
    damaged file, with what to do next.
    """
    path = place / RECORD_NAME if place.is_dir() else place
    if not path.is_file():
        raise RecordError(f"{path} does not exist; name a job folder with a {RECORD_NAME} in it")
    if path.stat().st_size == 0:
        raise RecordError(f"{path} is empty, so it is no record; nothing can be read from it")
    finish_cut_write(path)
    return Record(path, frames_too=frames_too)
