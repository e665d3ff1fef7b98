"""Reading a whole record fast: frames as columns of numbers, every row held to its check.

For whoever looks at a job as a whole: a day at ten frames a second is a million rows, and an
object for each would take minutes on a small board. Like the row reader, nothing is handed out
whose check does not fit. Inside these arrays, and nowhere else, NaN stands for a missing reading.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from firmware_host.model.channels import Quantity
from firmware_host.model.samples import PRESSURE_GRID, TEMPERATURE_GRID, Group, Input
from firmware_host.outputs.record_reader import Record
from firmware_host.outputs.record_schema import damaged, frame_columns
from firmware_host.outputs.row_checks import Checks, row_checks
from firmware_host.outputs.table_pages import (
    NULL,
    Integers,
    Pages,
    Shape,
    leaf_numbers,
    shapes,
)

_Kind = TypeVar("_Kind", np.int64, np.uint32, np.float64)

PAGES_AT_ONCE = 1024
"""Four megabytes, or some fifty thousand rows; half of it takes a third longer for a day."""
_MS = 1000.0
_TIME, _VALUES_FROM = 1, 2
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
    """Read every input of a record, each with how many inputs were told with it.

    First each group's frames in their order, then all inputs that are none in theirs. Raises
    RecordError naming the first row whose check does not fit.
    """
    told = 0
    for number in range(len(record.groups)):
        for run in _runs(record, number):
            told += len(run.time_s)
            yield run, told
    for stored in record.stored_others():
        told += 1
        yield stored.given, told


def _runs(record: Record, number: int) -> Iterator[FrameColumns]:
    table, group = record.frame_tables[number], record.groups[number]
    chain = _Chain(record, table)
    try:
        leaves = leaf_numbers(record.read_pages, record.root_page(table))
        for first in range(0, len(leaves), PAGES_AT_ONCE):
            held = _shapes_of(group, record.read_pages(leaves[first : first + PAGES_AT_ONCE]))
            bad = chain.misfit(held)
            if bad is not None:
                raise damaged(record.path, f"row {bad} of {table} does not fit its check")
            if held:
                yield _columns(number, group, held)
    except (ValueError, OSError) as error:
        raise damaged(record.path, f"{table}: {error}") from error


def _shapes_of(group: Group, pages: Pages) -> tuple[Shape, ...]:
    held = tuple(shapes(pages))
    width = len(frame_columns(group))
    if any(len(shape.columns) != width for shape in held):
        raise ValueError(f"a row has not the {width} cells of a frame")
    return held


class _Chain:
    """The checks of one table's rows, each continued from the row before in whatever table."""

    def __init__(self, record: Record, table: str) -> None:
        self._table = table
        others = [other for other in record.input_tables if other != table]
        rows = sorted(row for other in others for row in record.checks(other))
        elsewhere = np.array(rows, dtype=np.int64).reshape(-1, 2)
        self._numbers, self._checks = elsewhere[:, 0], _unsigned(elsewhere[:, 1])
        self._last_number, self._last_check = -1, 0

    def misfit(self, held: tuple[Shape, ...]) -> int | None:
        """Find the first row of the next run that does not fit its check; None if all do."""
        if not held:
            return None
        numbers = _spread(held, [shape.rowid for shape in held])
        checks = _unsigned(_spread(held, [_check(shape) for shape in held]))
        before = self._before(numbers, checks)
        found = _spread(held, [row_checks(self._table, s, before[s.index]) for s in held])
        self._last_number, self._last_check = int(numbers[-1]), int(checks[-1])
        wrong = numbers[found != checks]
        return int(wrong[0]) if len(wrong) else None

    def _before(self, numbers: Integers, checks: Checks) -> Checks:
        """Give the check of the row that comes before each; 0 where there is none."""
        before = self._elsewhere(numbers - 1)
        follows = np.diff(numbers) == 1
        before[1:][follows] = checks[:-1][follows]
        if numbers[0] == self._last_number + 1:
            before[0] = self._last_check
        return before

    def _elsewhere(self, numbers: Integers) -> Checks:
        if len(self._numbers) == 0:
            return np.zeros(len(numbers), dtype=np.uint32)
        place = np.minimum(np.searchsorted(self._numbers, numbers), len(self._numbers) - 1)
        return np.where(self._numbers[place] == numbers, self._checks[place], np.uint32(0))


def _check(shape: Shape) -> Integers:
    check = shape.numbers[-1]
    if check is None:
        raise ValueError("a row has no check")
    return check


def _unsigned(checks: Integers) -> Checks:
    return (checks & 0xFFFFFFFF).astype(np.uint32)


def _spread(held: Sequence[Shape], parts: Sequence[NDArray[_Kind]]) -> NDArray[_Kind]:
    """Put what was found for each shape back into the order of the rows."""
    whole = np.empty(sum(map(len, parts)), dtype=parts[0].dtype)
    for shape, part in zip(held, parts, strict=True):
        whole[shape.index] = part
    return whole


def _columns(number: int, group: Group, held: Sequence[Shape]) -> FrameColumns:
    return FrameColumns(
        group=number,
        time_s=_spread(held, [_floats(shape, _TIME) for shape in held]) / _MS,
        values=tuple(
            _spread(held, [_floats(shape, place) for shape in held])
            / (PRESSURE_GRID if channel.role.quantity is Quantity.PRESSURE else TEMPERATURE_GRID)
            for place, channel in enumerate(group.channels, start=_VALUES_FROM)
        ),
    )


def _floats(shape: Shape, place: int) -> NDArray[np.float64]:
    values = shape.numbers[place]
    if values is not None:
        return values.astype(np.float64)
    if shape.columns[place].kind != NULL:
        raise ValueError("a reading is no whole number")
    return np.full(len(shape.index), np.nan)
