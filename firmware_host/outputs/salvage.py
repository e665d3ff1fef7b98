"""Saving what is sound in a damaged record into a record of its own; the damaged one is only read.

A row is taken if its check says so, held against the check of the row before it; a row whose
predecessor is gone cannot be proven and is left behind with it. Where rows are missing the new
record has an `Unseen` of its own, so that nothing is drawn or judged across the hole, and says in
its sheet of notes which inputs of the old record they were.
"""

from __future__ import annotations

import dataclasses
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, fields
from pathlib import Path
from typing import TypeVar

import msgspec

from firmware_host.errors import RecordError
from firmware_host.model.events import Event
from firmware_host.model.samples import Input, Mark, Unseen
from firmware_host.outputs.head_chain import HeadChain
from firmware_host.outputs.record_file import RecordFile
from firmware_host.outputs.record_rows import (
    Cell,
    Cells,
    FrameRows,
    StoredInput,
    TableRow,
    checked,
    decode_event,
    decode_other,
    row_check,
)
from firmware_host.outputs.record_schema import (
    META_TABLES,
    RecordMeta,
    Session,
    Source,
    WallClock,
    create_record,
)
from firmware_host.outputs.record_sequence import RowSequence
from firmware_host.outputs.salvage_pages import Found, pages_of, rows_of

WHY = "rows of the damaged record are lost"
_COLUMNS = {"input": 4, "event": 5, "session": 11, "wall_clock": 5, "lost": 3}
"""The chain of hashes is left behind: it is of rows that are no longer all there."""
_FLOAT_CELLS = {"session": 4, "wall_clock": 2}
"""SQLite stores a whole float as an integer; this cell is a float all the same."""
_META_COLUMNS = 3
_BATCH = 2_000
_Row = TypeVar("_Row", Session, WallClock)


@dataclass(frozen=True, slots=True, kw_only=True)
class Hole:
    """Inputs of the old record that are lost."""

    first: int
    last: int
    start_s: float
    end_s: float

    def __str__(self) -> str:
        span = f"{self.start_s:.3f} s to {self.end_s:.3f} s"
        return f"input {self.first} to {self.last} are lost ({span})"


@dataclass(frozen=True, slots=True, kw_only=True)
class Salvage:
    """What a damaged file still holds, proven row by row."""

    meta: RecordMeta
    inputs: Mapping[int, StoredInput]
    events: Mapping[int, tuple[int, Event]]
    """By its number, the input that led to it, and the event."""
    sessions: Mapping[int, Session]
    walls: Mapping[int, WallClock]

    def holes(self) -> tuple[Hole, ...]:
        """Say which inputs are lost between those that are there."""
        found, last, last_s = [], 0, 0.0
        for number, stored in self.inputs.items():
            at_s = _at_s(stored.given)
            if number != last + 1:
                end_s = max(at_s, last_s)
                found.append(Hole(first=last + 1, last=number - 1, start_s=last_s, end_s=end_s))
            last, last_s = number, max(at_s, last_s)
        stood = max((one.inputs or 0 for one in self.sessions.values()), default=0)
        if stood > last:
            found.append(Hole(first=last + 1, last=stood, start_s=last_s, end_s=last_s))
        return tuple(found)


def salvage(record: Path) -> Salvage:
    """Read what is sound in a record, whatever is wrong with the rest; the file is only read.

    Raises RecordError where nothing says any more what the record is of.
    """
    log = record.with_name(record.name + "-wal")
    try:
        file = record.read_bytes()
        images, get = pages_of(file, log.read_bytes() if log.exists() else b"")
    except OSError as error:
        raise RecordError(f"{record} cannot be read: {error.strerror}.") from error
    found = [row for image in dict.fromkeys(images) for row in rows_of(image, get)]
    meta = _meta(found, record)
    rows = _by_table(found, meta)
    frames = {f"frame_{n}": FrameRows(n, group) for n, group in enumerate(meta.groups)}
    chained = defaultdict(list)
    for table in ("input", *frames):
        for number, cells in rows[table]:
            chained[number].append((table, cells))
    return Salvage(
        meta=meta,
        inputs=dict(_inputs(chained, frames)),
        events=dict(_events(rows["event"])),
        sessions={one.n: one for one in _plain(rows["session"], "session", Session)},
        walls={one.n: one for one in _plain(rows["wall_clock"], "wall_clock", WallClock)},
    )


def write_salvage(found: Salvage, folder: Path) -> Path:
    """Make a record in a folder that has none, of all that was found. Raises RecordError."""
    meta = dataclasses.replace(found.meta, source=Source.SALVAGE)
    path = create_record(folder, meta)
    sequence = RowSequence(
        meta.groups, inputs=0, input_crc=0, events=0, event_crc=0, heads=HeadChain()
    )
    file, batch, new_of = RecordFile(path), list[TableRow](), dict[int, int]()
    try:
        for old, given, events, raw, arrived_s in _ordered(found):
            batch += sequence.add(given, events, raw, arrived_s)
            if old is not None:
                new_of[old] = sequence.inputs
            if len(batch) >= _BATCH:
                file.write(batch)
                batch = []
        file.write([*batch, *sequence.head_rows(), *_notes(found, new_of, sequence)])
        file.leave_one_file()
    finally:
        file.close()
    return path


def _ordered(
    found: Salvage,
) -> Iterator[tuple[int | None, Input, list[Event], str | None, float | None]]:
    """Give inputs in order, each with what was said to it, and an `Unseen` for each hole."""
    numbers = list(found.inputs)
    said: dict[int, list[Event]] = defaultdict(list)
    place = 0
    for after, event in found.events.values():
        while place + 1 < len(numbers) and numbers[place + 1] <= after:
            place += 1
        said[numbers[place] if numbers else 0].append(event)
    holes = {hole.last + 1: hole for hole in found.holes()}
    for number, stored in found.inputs.items():
        if (hole := holes.get(number)) is not None:
            yield None, Unseen(hole.end_s, hole.start_s, WHY), [], None, None
        yield number, stored.given, said[number], stored.raw, stored.arrived_s


def _notes(found: Salvage, new_of: Mapping[int, int], sequence: RowSequence) -> Iterator[TableRow]:
    """Give sessions and wall clock; a session's start is counted in the new record's inputs."""
    for session in found.sessions.values():
        before = max((new for old, new in new_of.items() if old <= session.after_input), default=0)
        last = session.n == max(found.sessions)
        moved = dataclasses.replace(
            session,
            after_input=before,
            inputs=sequence.inputs if last and session.clean else None,
            events=sequence.events if last and session.clean else None,
        )
        yield "session", checked("session", moved.cells())
    for wall in found.walls.values():
        yield "wall_clock", checked("wall_clock", (wall.n, wall.session, wall.mono_s, wall.wall))


def _meta(found: Sequence[Found], record: Path) -> RecordMeta:
    held: dict[str, object] = {}
    for row in found:
        if row.rowid is not None or len(row.cells) != _META_COLUMNS:
            continue
        *cells, crc = row.cells
        if any(row_check(table, tuple(cells)) == crc for table in META_TABLES):
            held[str(cells[0])] = msgspec.json.decode(str(cells[1]))
    try:
        return msgspec.convert(held, RecordMeta)
    except (ValueError, msgspec.ValidationError) as error:
        raise RecordError(
            f"{record}: nothing in it says any more what was recorded ({error}). Keep the file."
        ) from error


def _by_table(found: Sequence[Found], meta: RecordMeta) -> dict[str, list[tuple[int, Cells]]]:
    columns = dict(_COLUMNS)
    columns.update({f"frame_{n}": 6 + len(group.channels) for n, group in enumerate(meta.groups)})
    rows: dict[str, list[tuple[int, Cells]]] = {table: [] for table in columns}
    for row in found:
        if row.rowid is None or not row.cells or row.cells[0] is not None:
            continue
        for table, count in columns.items():
            if len(row.cells) == count:
                rows[table].append((row.rowid, _typed(table, row)))
    return rows


def _typed(table: str, row: Found) -> Cells:
    cells: list[Cell] = [row.rowid, *row.cells[1:]]
    place = _FLOAT_CELLS.get(table)
    if place is not None and isinstance(cells[place], int):
        cells[place] = float(str(cells[place]))
    return tuple(cells)


def _proven(
    rows: Mapping[int, Sequence[tuple[str, Cells]]],
) -> Iterator[tuple[int, str, Cells]]:
    """Give rows that fit the check of one that may come before them, in order."""
    for number in sorted(rows):
        before = {cells[-1] for _, cells in rows.get(number - 1, ())} if number > 1 else {0}
        for table, cells in rows[number]:
            if any(_fits(table, cells, check) for check in before):
                yield number, table, cells[:-1]
                break


def _fits(table: str, cells: Cells, before: Cell) -> bool:
    return isinstance(before, int) and row_check(table, cells[:-1], before) == cells[-1]


def _inputs(
    rows: Mapping[int, Sequence[tuple[str, Cells]]], frames: Mapping[str, FrameRows]
) -> Iterator[tuple[int, StoredInput]]:
    for number, table, cells in _proven(rows):
        decode = decode_other if table == "input" else frames[table].decode
        yield number, decode(cells)


def _events(rows: Sequence[tuple[int, Cells]]) -> Iterator[tuple[int, tuple[int, Event]]]:
    chained = defaultdict(list)
    for number, cells in rows:
        chained[number].append(("event", cells))
    for number, _, cells in _proven(chained):
        stored = decode_event(cells)
        yield number, (stored.after_input, stored.event)


def _plain(rows: Sequence[tuple[int, Cells]], table: str, kind: type[_Row]) -> Iterator[_Row]:
    names = [field.name for field in fields(kind)]
    # A session's row is written twice; the one that knows its end comes last.
    for _, cells in sorted(rows, key=lambda row: (row[0], row[1][7:8] != (None,))):
        if row_check(table, cells[:-1]) == cells[-1]:
            yield msgspec.convert(dict(zip(names, cells, strict=False)), kind)


def _at_s(given: Input) -> float:
    return given.heard_s if isinstance(given, Mark) else given.time_s
