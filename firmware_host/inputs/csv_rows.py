"""Rows of a recorded log: lines in, checked rows out, one at a time; every problem is noted.

The file is never held in memory; a line longer than any log's is refused before it is read whole.
"""

from __future__ import annotations

import csv
import math
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import BinaryIO

from firmware_host.config.wording import nearest, shown
from firmware_host.errors import InputError
from firmware_host.inputs.csv_header import Header, read_header
from firmware_host.model.samples import MARKS, on_grid

LONGEST_LINE_BYTES = 65536
MOST_PROBLEMS = 20
"""Further ones are only counted."""
LATEST_TIME_S = 1.0e10
"""Three hundred years; a later time is no number of seconds."""
MILLISECONDS = 1000
"""Steps per second on which times are kept."""

_RFC_3339 = re.compile(
    r"\d{4}-\d\d-\d\d[Tt ]\d\d:\d\d:\d\d(\.\d{1,9})?([Zz]|[+-]\d\d:\d\d)?", re.ASCII
)


class Problems:
    """What is wrong with a log, by line."""

    def __init__(self, name: str) -> None:
        self._name = name
        self._texts: list[str] = []
        self._more = 0

    def say(self, line: int | None, text: str) -> None:
        """Note one problem; None where it is the file's as a whole."""
        if len(self._texts) < MOST_PROBLEMS:
            place = self._name if line is None else f"{self._name} line {line}"
            self._texts.append(f"{place}: {text}")
        else:
            self._more += 1

    @property
    def texts(self) -> list[str]:
        """Every problem noted, the uncounted rest in a last line."""
        more = [f"{self._name}: and {self._more} more problems."] if self._more else []
        return self._texts + more


@dataclass(frozen=True, slots=True)
class Row:
    """A row without a problem; numbers are still in the units of the header."""

    time_s: float
    numbers: list[float | None]
    marks: Sequence[str]


class RowReader:
    """Reads a log from its header on; when the iteration is over, `problems` is complete."""

    def __init__(self, path: Path, name: str) -> None:
        self.problems = Problems(name)
        self.header: Header | None = None
        self._path = path
        self.first_wall: datetime | None = None
        self._last_s = -math.inf

    def rows(self) -> Iterator[Row]:
        """Good rows in the order of the file."""
        reader = csv.reader(_lines(self._path), strict=True)
        try:
            self.header = self._header(next(reader, None))
            if self.header is None:
                return
            for cells in reader:
                if cells and (row := self._row(reader.line_num, cells, self.header)) is not None:
                    yield row
        except csv.Error as error:
            self.problems.say(max(reader.line_num, 1), _no_csv(error))
        except InputError as error:
            self.problems.say(reader.line_num + 1, str(error))

    def _header(self, cells: list[str] | None) -> Header | None:
        if cells is None:
            return None
        try:
            return read_header(cells or [""])
        except InputError as error:
            for text in error.problems:
                self.problems.say(1, text)
            return None

    def _row(self, line: int, cells: list[str], header: Header) -> Row | None:
        if len(cells) != header.width:
            text = (
                f"has {len(cells)} cells, the header has {header.width}. A decimal comma "
                "adds cells: write a point. A cell that was not read stays blank."
            )
            self.problems.say(line, text)
            return None
        time_s = self._time(line, cells[0], header)
        numbers = self._numbers(line, cells, header)
        marks = self._marks(line, cells[-1]) if header.has_marks else ()
        if time_s is None or numbers is None or marks is None:
            return None
        return Row(time_s, numbers, marks)

    def _time(self, line: int, cell: str, header: Header) -> float | None:
        try:
            raw_s = self._since_first_s(cell) if header.by_date else seconds(cell)
        except ValueError as error:
            self.problems.say(line, f"{error}.")
            return None
        time_s, before_s = on_grid(raw_s, MILLISECONDS), self._last_s
        self._last_s = time_s
        if time_s <= before_s:
            text = (
                f"time {shown(cell)} is not later than the row before; times must rise by at "
                "least a millisecond. Sort the log or take the row out."
            )
            self.problems.say(line, text)
            return None
        return time_s

    def _since_first_s(self, cell: str) -> float:
        wall = date_and_time(cell)
        if self.first_wall is None:
            self.first_wall = wall
        return (wall - self.first_wall).total_seconds()

    def _numbers(self, line: int, cells: list[str], header: Header) -> list[float | None] | None:
        values: list[float | None] = []
        for column, cell in zip(header.columns, cells[1:], strict=False):
            try:
                values.append(number(cell) if cell and not cell.isspace() else None)
            except ValueError as error:
                self.problems.say(line, f"column {column.title}: {error}.")
        return values if len(values) == len(header.columns) else None

    def _marks(self, line: int, cell: str) -> Sequence[str] | None:
        if not cell or cell.isspace():
            return ()
        names = [name.strip() for name in cell.split(";")]
        strange = [name for name in names if name not in MARKS]
        for name in strange:
            guess = nearest(name, MARKS) or f" Marks are {', '.join(MARKS)}."
            self.problems.say(line, f"{shown(name)} is no mark.{guess}")
        return None if strange else names


def _no_csv(error: csv.Error) -> str:
    if "new-line" in str(error):
        return "a line ends in CR alone. Save the log with LF or CRLF line ends."
    return f"{error}. A quote is open or stands inside a cell; look from here back."


def number(cell: str) -> float:
    """Read a reading. Raises ValueError, naming the cell, for all but a finite decimal number."""
    try:
        value = float(cell)
    except ValueError:
        value = math.nan
    if math.isfinite(value) and cell.isascii() and "_" not in cell:
        return value
    hint = "write a point in decimals" if "," in cell else "leave it blank where nothing was read"
    raise ValueError(f"{shown(cell)} is not a number; {hint}")


def seconds(cell: str) -> float:
    """Read a `time_s`. Raises ValueError for what cannot be one."""
    if not cell or cell.isspace():
        raise ValueError("the time is blank; every row needs one")
    value = number(cell)
    if not 0.0 <= value <= LATEST_TIME_S:
        raise ValueError(f"time_s {shown(cell)} must be from 0 to {LATEST_TIME_S:g}")
    return value


def date_and_time(cell: str) -> datetime:
    """Read a `time` after RFC 3339. Raises ValueError for another form, or without offset."""
    text = cell.strip()
    match = _RFC_3339.fullmatch(text)
    example = "2026-03-01T08:30:00+01:00"
    if match is None:
        raise ValueError(f"time {shown(cell)} must be written like {example}")
    if match[2] is None:
        raise ValueError(f"time {shown(cell)} has no offset from UTC; write it like {example}")
    try:
        return datetime.fromisoformat(text.upper())
    except ValueError:
        raise ValueError(f"time {shown(cell)} is on no calendar; write it like {example}") from None


def _lines(path: Path) -> Iterator[str]:
    """Lines with their ends, without a byte order mark. Raises InputError where one is no text."""
    try:
        with path.open("rb") as source:
            yield from _decoded(source)
    except OSError as error:
        raise InputError([f"cannot be read: {error.strerror}."]) from None


def _decoded(source: BinaryIO) -> Iterator[str]:
    encoding = "utf-8-sig"
    while line := source.readline(LONGEST_LINE_BYTES + 1):
        if len(line) > LONGEST_LINE_BYTES:
            raise InputError(["is longer than 64 kB; no log has such lines."])
        try:
            yield line.decode(encoding)
        except UnicodeDecodeError:
            raise InputError(["is not UTF-8 text. Save the log as UTF-8."]) from None
        encoding = "utf-8"
