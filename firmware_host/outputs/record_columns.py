"""Reading a whole record fast: frames as columns of numbers, every row held to its check.

For whoever looks at a job as a whole: a day at ten frames a second is a million rows, and an
object for each would take minutes on a small board. Like the row reader, nothing is handed out
whose check does not fit. Inside these arrays, and nowhere else, NaN stands for a missing reading.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from operator import itemgetter
from typing import Any

import numpy as np
from numpy.typing import NDArray

from firmware_host.model.channels import Quantity
from firmware_host.model.samples import PRESSURE_GRID, TEMPERATURE_GRID, Frame, Group, Input
from firmware_host.outputs.record_reader import RawRow, Record
from firmware_host.outputs.record_rows import Cells, misfit
from firmware_host.outputs.record_schema import damaged

AT_ONCE = 8192
"""Rows held in memory at a time."""
_VALUES_FROM = 2
"""A frame's row begins with its number and its time."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FrameColumns:
    """A run of frames of one group."""

    group: int
    time_s: NDArray[np.float64]
    values: tuple[NDArray[np.float64], ...]
    """Pa or K of each channel, in the group's order."""


Told = FrameColumns | Input
"""Runs of frames, and every input that is no frame, one by one."""


def read_columns(record: Record) -> Iterator[tuple[Told, int]]:
    """Read every input of a record, each with the number of the last row it speaks for.

    Frames of different groups keep their order only from run to run. Raises RecordError naming
    the first row whose check does not fit.
    """
    before = 0
    for first in range(1, record.last_input + 1, AT_ONCE):
        runs = [
            (table, rows)
            for table in record.input_tables
            if (rows := record.rows_between(table, first, first + AT_ONCE))
        ]
        for table, run in _in_order(runs):
            bad = misfit(table, run, before)
            if bad is not None:
                raise damaged(record.path, f"row {bad} of {table} does not fit its check")
            before = run[-1][-1]
        for table, rows in runs:
            yield from ((told, int(rows[-1][0])) for told in _told(record, table, rows))


def _in_order(runs: list[tuple[str, list[Any]]]) -> Iterator[tuple[str, list[Any]]]:
    """Cut runs of several tables into pieces that follow one another by number."""
    if len(runs) < 2:
        yield from runs
        return
    marked = sorted(
        ((row[0], table, row) for table, rows in runs for row in rows), key=itemgetter(0)
    )
    piece: list[Any] = []
    for number, (_, table, row) in enumerate(marked):
        piece.append(row)
        if number + 1 == len(marked) or marked[number + 1][1] != table:
            yield table, piece
            piece = []


def _told(record: Record, table: str, rows: list[Any]) -> Iterator[Told]:
    group = record.group_of(table)
    if group is not None:
        yield _columns(group, record.groups[group], rows)
        return
    for row in rows:
        given = record.decode_input(RawRow(table=table, cells=row[:-1], crc=row[-1])).given
        if not isinstance(given, Frame):
            yield given


def _columns(number: int, group: Group, rows: list[Cells]) -> FrameColumns:
    cells = list(zip(*rows, strict=True))
    held = cells[_VALUES_FROM : _VALUES_FROM + len(group.channels)]
    return FrameColumns(
        group=number,
        time_s=np.array(cells[1], dtype=np.float64) / 1000.0,
        values=tuple(
            # None becomes NaN here.
            np.array(column, dtype=np.float64)
            / (PRESSURE_GRID if channel.role.quantity is Quantity.PRESSURE else TEMPERATURE_GRID)
            for column, channel in zip(held, group.channels, strict=True)
        ),
    )
