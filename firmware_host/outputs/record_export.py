"""A record written out for other programs: a CSV log, JSON, or Parquet where pyarrow is there.

Read-only on the record, and every row held to its check: a damaged record is refused, not drawn.
The new file appears whole or not at all.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from importlib import import_module
from pathlib import Path
from typing import IO, Any

import msgspec

from firmware_host.errors import InputError, MonitorError
from firmware_host.model.channels import Channel, Quantity
from firmware_host.model.samples import PRESSURE_GRID, TEMPERATURE_GRID, Frame, Input, Mark
from firmware_host.outputs.amendment import amendments
from firmware_host.outputs.log_rows import LeftOut, LogRow, channels_of, log_rows, marks_of
from firmware_host.outputs.log_text import head_line, row_line
from firmware_host.outputs.record_reader import Record
from firmware_host.outputs.record_rows import StoredEvent, StoredInput, column_of

JSON_SCHEMA = 1
ROWS_AT_ONCE = 20_000
TELL_EVERY = 2000
"""Inputs between two words of progress."""

Progress = Callable[[float], None]


def export_csv(record: Record, target: Path, progress: Progress) -> LeftOut:
    """Write the log of a record; replayed, it says what the record says."""
    channels, left_out = channels_of(record.groups), LeftOut()
    with _whole(target) as out:
        out.write(f"{head_line(channels)}\r\n".encode())
        for row in _rows(record, progress, left_out):
            out.write(f"{row_line(row, channels)}\r\n".encode())
    return left_out


def export_json(record: Record, target: Path, progress: Progress) -> LeftOut:
    """Write all of a record as one JSON object, inputs and events one to a line."""
    with _whole(target) as out:
        head = {
            "schema": JSON_SCHEMA,
            "meta": msgspec.to_builtins(record.meta),
            "sessions": msgspec.to_builtins(record.sessions()),
            "wall_clock": msgspec.to_builtins(record.wall_clock()),
            "amendments": msgspec.to_builtins(tuple(amendments(record))),
            "lost_inputs": record.lost_inputs,
        }
        out.write(msgspec.json.encode(head)[:-1])
        _write_list(out, "inputs", (_input(record, one) for one in _told(record, progress)))
        _write_list(out, "events", map(_event, record.stored_events()))
        out.write(b"}\n")
    return LeftOut()


def export_parquet(record: Record, target: Path, progress: Progress) -> LeftOut:
    """Write the rows of the log as columns; Pa and K, a missing reading is null."""
    arrow, parquet = _arrow()
    channels, left_out = channels_of(record.groups), LeftOut()
    names = [f"{channel.name}_{_si_unit(channel)}" for channel in channels]
    fields = [("time_s", arrow.float64()), *((name, arrow.float64()) for name in names)]
    schema = arrow.schema([*fields, ("mark", arrow.string())])
    with _whole(target) as out, parquet.ParquetWriter(out, schema) as writer:
        for rows in _batches(_rows(record, progress, left_out)):
            columns = _columns(rows, channels)
            writer.write_table(arrow.Table.from_arrays(list(map(arrow.array, columns)), schema))
    return left_out


def _rows(record: Record, progress: Progress, left_out: LeftOut) -> Iterator[LogRow]:
    marks = marks_of((stored.given for stored in record.stored_others()), left_out)
    inputs = (stored.given for stored in _told(record, progress))
    return log_rows(inputs, marks, record.groups, left_out)


def _told(record: Record, progress: Progress) -> Iterator[StoredInput]:
    """Pass the inputs on and say how far they are."""
    count = max(record.input_count, 1)
    for done, stored in enumerate(record.stored_inputs()):
        if done % TELL_EVERY == 0:
            progress(done / count)
        yield stored
    progress(1.0)


def _write_list(out: IO[bytes], name: str, items: Iterable[dict[str, Any]]) -> None:
    out.write(f',\n"{name}":['.encode())
    for number, item in enumerate(items):
        out.write((b",\n" if number else b"\n") + msgspec.json.encode(item))
    out.write(b"]")


def _input(record: Record, stored: StoredInput) -> dict[str, Any]:
    given = stored.given
    kind = "frame" if isinstance(given, Frame) else type(given).__name__.lower()
    told = {"n": stored.n, "kind": kind, **_fields(given)}
    if isinstance(given, Frame):
        names = [column_of(channel) for channel in record.groups[given.group].channels]
        told["group"] = record.groups[given.group].name
        told["channels"] = [name.rpartition("_")[0] for name in names]
        told |= {"raw": stored.raw, "arrived_s": stored.arrived_s}
    return told


def _fields(given: Input) -> dict[str, Any]:
    held: dict[str, Any] = msgspec.to_builtins(given)
    if isinstance(given, Mark):
        held["mark"] = held.pop("name")
    return held


def _event(stored: StoredEvent) -> dict[str, Any]:
    head = {"n": stored.n, "after_input": stored.after_input}
    return {**head, "kind": type(stored.event).__name__, **msgspec.to_builtins(stored.event)}


def _arrow() -> tuple[Any, Any]:
    try:
        return import_module("pyarrow"), import_module("pyarrow.parquet")
    except ImportError:
        text = "Parquet needs pyarrow, which is not here: pip install pyarrow, or take --csv."
        raise InputError([text]) from None


def _si_unit(channel: Channel) -> str:
    return "pa" if channel.role.quantity is Quantity.PRESSURE else "k"


def _batches(rows: Iterable[LogRow]) -> Iterator[list[LogRow]]:
    batch: list[LogRow] = []
    for row in rows:
        batch.append(row)
        if len(batch) == ROWS_AT_ONCE:
            yield batch
            batch = []
    if batch:
        yield batch


def _columns(rows: Sequence[LogRow], channels: Sequence[Channel]) -> Iterator[list[object]]:
    yield [row.time_ms / 1000 for row in rows]
    for at, channel in enumerate(channels):
        pressure = channel.role.quantity is Quantity.PRESSURE
        grid = PRESSURE_GRID if pressure else TEMPERATURE_GRID
        yield [None if (steps := row.steps[at]) is None else steps / grid for row in rows]
    yield [";".join(row.marks) or None for row in rows]


@contextmanager
def _whole(target: Path) -> Iterator[IO[bytes]]:
    """Write beside the target and put it in its place at the end."""
    part = target.with_name(target.name + ".part")
    try:
        with part.open("wb") as out:
            yield out
        part.replace(target)
    except MonitorError:
        raise
    except OSError as error:
        raise InputError([f"{target} cannot be written: {error.strerror}. Name another."]) from None
    finally:
        part.unlink(missing_ok=True)
