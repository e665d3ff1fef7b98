"""A record's inputs as rows of a recorded log: every channel a column, times strictly rising.

Pure. Frames of ports that share a pace share a row; a moment at which nothing arrived is a row of
blanks; a span that nobody watched has no row, as in any log. A mark stands in a row of its own, at
the time at which the person says it was done. Whole numbers throughout: milliseconds, tenths of a
pascal, thousandths of a kelvin.
"""

from __future__ import annotations

import heapq
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field

from firmware_host.model.channels import Channel, Quantity
from firmware_host.model.samples import (
    MARKS,
    PRESSURE_GRID,
    TEMPERATURE_GRID,
    Frame,
    Group,
    Input,
    Mark,
    Tick,
    Unseen,
)

LATEST_MS = 60_000
"""A frame may come this much after younger ones and still find its place."""
USUAL_PERIOD_S = 0.5
"""How long a row stays open for the other ports, where no bench file says their pace."""
_MS = 1000


@dataclass(frozen=True, slots=True, kw_only=True)
class LogRow:
    """One row."""

    time_ms: int
    steps: tuple[int | None, ...]
    """Each channel's reading in steps of the record's grid; None for a blank cell."""
    marks: tuple[str, ...] = ()


@dataclass(slots=True, kw_only=True)
class LeftOut:
    """What a log has no place for, counted while rows are made."""

    frames: int = 0
    """Came later than `LATEST_MS` behind younger ones."""
    marks: int = 0
    """Not among the marks of a log: a job that was abandoned."""


@dataclass(frozen=True, slots=True)
class _Moment:
    """A frame, a mark, or a moment without either, at its own time."""

    given: Frame | Mark | Tick | Unseen
    time_ms: int


@dataclass(slots=True)
class _Open:
    """The row that is being filled."""

    begun_ms: int
    time_ms: int
    steps: list[int | None]
    groups: set[int] = field(default_factory=set)


def channels_of(groups: Sequence[Group]) -> tuple[Channel, ...]:
    """Give the columns' channels, port after port."""
    return tuple(channel for group in groups for channel in group.channels)


def marks_of(inputs: Iterable[Input], left_out: LeftOut) -> list[Mark]:
    """Pick the marks that a log may hold."""
    marks = []
    for given in inputs:
        if isinstance(given, Mark) and given.name in MARKS:
            marks.append(given)
        else:
            left_out.marks += isinstance(given, Mark)
    return marks


def log_rows(
    inputs: Iterable[Input], marks: Sequence[Mark], groups: Sequence[Group], left_out: LeftOut
) -> Iterator[LogRow]:
    """Lay the inputs out as rows; `marks` are all marks, since some are told late."""
    last_ms = -1
    for row in _Rows(groups).rows(_in_order(inputs, marks, left_out)):
        # Two frames of one millisecond, or a mark on a frame's: a log's times rise.
        last_ms = max(row.time_ms, last_ms + 1)
        yield LogRow(time_ms=last_ms, steps=row.steps, marks=row.marks)


def _in_order(
    inputs: Iterable[Input], marks: Sequence[Mark], left_out: LeftOut
) -> Iterator[_Moment]:
    """Sort by time, in bounded memory: what comes late waits for nothing older than a minute."""
    waiting: list[tuple[int, int, Frame | Mark | Tick | Unseen]] = [
        (max(round(mark.time_s * _MS), 0), number, mark) for number, mark in enumerate(marks)
    ]
    heapq.heapify(waiting)
    newest_ms, told_ms = 0, -1
    for number, given in enumerate(inputs, start=len(waiting)):
        if not isinstance(given, Frame | Tick | Unseen):
            continue
        time_ms = round(given.time_s * _MS)
        if time_ms < told_ms:
            left_out.frames += isinstance(given, Frame)
            continue
        heapq.heappush(waiting, (time_ms, number, given))
        newest_ms = max(newest_ms, time_ms)
        while waiting[0][0] < newest_ms - LATEST_MS:
            told_ms, _, oldest = heapq.heappop(waiting)
            yield _Moment(oldest, told_ms)
    while waiting:
        time_ms, _, oldest = heapq.heappop(waiting)
        yield _Moment(oldest, time_ms)


class _Rows:
    """Puts frames of several groups into one row where they belong to one round of reading."""

    def __init__(self, groups: Sequence[Group]) -> None:
        sizes = [len(group.channels) for group in groups]
        self._first = [sum(sizes[:number]) for number in range(len(sizes))]
        self._width = sum(sizes)
        self._grids = [
            PRESSURE_GRID if channel.role.quantity is Quantity.PRESSURE else TEMPERATURE_GRID
            for channel in channels_of(groups)
        ]
        self._round_ms = min(
            (round((group.period_s or USUAL_PERIOD_S) * _MS) for group in groups), default=0
        )
        self._groups = len(groups)
        self._open: _Open | None = None

    def rows(self, moments: Iterable[_Moment]) -> Iterator[LogRow]:
        """Fill row after row."""
        for moment in moments:
            if not isinstance(moment.given, Frame):
                yield from self._close()
                yield from self._alone(moment)
                continue
            if self._is_of_another_round(moment.given, moment.time_ms):
                yield from self._close()
            self._fill(moment.given, moment.time_ms)
            if self._open is not None and len(self._open.groups) == self._groups:
                yield from self._close()
        yield from self._close()

    def _alone(self, moment: _Moment) -> Iterator[LogRow]:
        given, blanks = moment.given, (None,) * self._width
        if isinstance(given, Mark):
            yield LogRow(time_ms=moment.time_ms, steps=blanks, marks=(given.name,))
        elif isinstance(given, Tick):
            yield LogRow(time_ms=moment.time_ms, steps=blanks)

    def _is_of_another_round(self, frame: Frame, time_ms: int) -> bool:
        row = self._open
        if row is None:
            return False
        return frame.group in row.groups or time_ms - row.begun_ms >= self._round_ms

    def _fill(self, frame: Frame, time_ms: int) -> None:
        if self._open is None:
            self._open = _Open(time_ms, time_ms, [None] * self._width)
        self._open.time_ms = time_ms
        self._open.groups.add(frame.group)
        first = self._first[frame.group]
        for column, value in enumerate(frame.values, start=first):
            if value is not None:
                self._open.steps[column] = round(value * self._grids[column])

    def _close(self) -> Iterator[LogRow]:
        row, self._open = self._open, None
        if row is not None:
            yield LogRow(time_ms=row.time_ms, steps=tuple(row.steps))
