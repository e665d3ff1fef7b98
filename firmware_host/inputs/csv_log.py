"""A recorded log as the inputs of the core: checked as a whole first, then told row by row.

Streams both times, so a log of any length fits. What is told at a row depends on no later row.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from itertools import islice
from pathlib import Path
from statistics import median

from firmware_host.errors import InputError
from firmware_host.inputs.csv_header import Column, Header
from firmware_host.inputs.csv_rows import Problems, Row, RowReader
from firmware_host.model.channels import Quantity
from firmware_host.model.samples import (
    PRESSURE_GRID,
    TEMPERATURE_GRID,
    Frame,
    Group,
    Mark,
    Reason,
    Unseen,
    on_grid,
)
from hardware.units import to_kelvin, to_pascal

GROUP_NAME = "log"
HIGHEST_PRESSURE_PA = 115_000.0
"""Above the highest room pressure ever measured (1084 hPa) and a gauge's error; a wire fault."""
LOWEST_TEMPERATURE_K = 213.15
"""-60 degC."""
HIGHEST_TEMPERATURE_K = 673.15
"""400 degC."""
HALF_STEP_K = 0.5 / TEMPERATURE_GRID
"""A reading this near a limit is on it: -60 degC in binary is a hair below."""
GAP_PERIODS = 10.0
SHORTEST_GAP_S = 5.0
PERIODS_REMEMBERED = 21
"""The usual period is the median of this many; a log may change its pace."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LogFile:
    """A log without a problem."""

    path: Path
    name: str
    group: Group
    rows: int
    first_wall: datetime | None
    """Date and time of the first row, where the log holds dates."""
    first_s: float
    last_s: float

    def inputs(self) -> Iterator[Frame | Mark | Unseen]:
        """Tell the log in the order of time: a gap, the row's marks, then its readings.

        Raises InputError if the file was changed since it was checked.
        """
        reader = RowReader(self.path, self.name)
        gaps = GapRule()
        told = 0
        for row in islice(reader.rows(), self.rows):
            if (start_s := gaps.gap_before(row.time_s)) is not None:
                yield Unseen(time_s=row.time_s, start_s=start_s, why="the log has no rows")
            for name in row.marks:
                yield Mark(time_s=row.time_s, name=name, heard_s=row.time_s)
            told += 1
            if row.marks and not any(number is not None for number in row.numbers):
                continue  # a row that only says what was done is no reading that failed
            assert reader.header is not None, "a row comes after the header"
            yield _frame(row, reader.header)
        if told != self.rows or reader.problems.texts:
            text = f"{self.name} was changed while it was read. Replay it again."
            raise InputError([text, *reader.problems.texts])


class GapRule:
    """Finds spans without rows; how long is too long is learnt from the rows before."""

    def __init__(self) -> None:
        self._periods: deque[float] = deque(maxlen=PERIODS_REMEMBERED)
        self._last_s: float | None = None

    def gap_before(self, time_s: float) -> float | None:
        """Take the time of the next row; say where a gap before it began, or None."""
        before_s, self._last_s = self._last_s, time_s
        if before_s is None:
            return None
        span_s = time_s - before_s
        is_gap = span_s > SHORTEST_GAP_S and self._is_unusual(span_s)
        self._periods.append(span_s)
        return before_s if is_gap else None

    def _is_unusual(self, span_s: float) -> bool:
        return bool(self._periods) and span_s > GAP_PERIODS * median(self._periods)


def open_log(path: str | Path) -> LogFile:
    """Check a log from end to end. Raises InputError with its problems, 20 of them at most."""
    name = str(path)
    reader = RowReader(_file(path), name)
    rows, first_s, last_s = 0, 0.0, 0.0
    for row in reader.rows():
        first_s = row.time_s if rows == 0 else first_s
        last_s = row.time_s
        rows += 1
    header = _checked(reader.header, rows, reader.problems)
    channels = tuple(column.channel for column in header.columns)
    return LogFile(
        path=Path(path),
        name=name,
        group=Group(GROUP_NAME, channels, None),
        rows=rows,
        first_wall=reader.first_wall,
        first_s=first_s,
        last_s=last_s,
    )


def _file(path: str | Path) -> Path:
    """Refuse what is no file that can be read twice."""
    place = Path(path)
    try:
        exists, is_file = place.exists(), place.is_file()
    except (OSError, ValueError) as error:
        raise InputError([f"{path} cannot be read: {error}."]) from None
    if not exists:
        raise InputError([f"{path} does not exist. Check the name of the log."])
    if not is_file:
        raise InputError([f"{path} is not a regular file. Name the CSV file itself."])
    return place


def _checked(header: Header | None, rows: int, problems: Problems) -> Header:
    if not problems.texts and header is None:
        problems.say(None, "the log is empty. Its first row names the columns.")
    elif not problems.texts and rows == 0:
        problems.say(None, "the log holds a header and no row. There is nothing to replay.")
    if problems.texts or header is None:
        raise InputError(problems.texts)
    return header


def _frame(row: Row, header: Header) -> Frame:
    values: list[float | None] = []
    reasons: list[Reason | None] = []
    for column, number in zip(header.columns, row.numbers, strict=True):
        value = None if number is None else reading(number, column)
        values.append(value)
        reasons.append(_reason(number, value))
    return Frame(row.time_s, 0, tuple(values), tuple(reasons))


def _reason(number: float | None, value: float | None) -> Reason | None:
    if value is not None:
        return None
    return Reason.NOT_READ if number is None else Reason.OUT_OF_RANGE


def reading(number: float, column: Column) -> float | None:
    """Turn a cell into Pa or K on the grid; None where no bench can be like that."""
    if column.quantity is Quantity.PRESSURE:
        pressure_pa = to_pascal(number, column.unit)
        if not 0.0 <= pressure_pa <= HIGHEST_PRESSURE_PA:
            return None
        return on_grid(pressure_pa, PRESSURE_GRID)
    temp_k = to_kelvin(number, column.unit)
    below_k, above_k = LOWEST_TEMPERATURE_K - temp_k, temp_k - HIGHEST_TEMPERATURE_K
    if max(below_k, above_k) > HALF_STEP_K:
        return None
    return on_grid(temp_k, TEMPERATURE_GRID)
