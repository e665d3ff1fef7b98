"""Inputs and events as rows of the record, and back: equal to the last bit, or refused.

Pure: no file and no SQL. Frames become whole numbers on the grid on which the core judges them;
everything else becomes one line of JSON. Each row carries a CRC-32 (zlib) of its own cells as
MessagePack, continued from the row before it, so that a changed, missing or moved row is found.
"""

from __future__ import annotations

import dataclasses
import math
import re
import zlib
from collections.abc import Sequence
from dataclasses import dataclass

import msgspec

from firmware_host.model.channels import Channel, Quantity
from firmware_host.model.events import EVENT_KINDS, Event
from firmware_host.model.samples import (
    PRESSURE_GRID,
    TEMPERATURE_GRID,
    Acknowledge,
    Frame,
    Group,
    Input,
    LinkChanged,
    Mark,
    PliesLaid,
    Reason,
    SelfCheck,
    Shelve,
    Tick,
    Unseen,
)
from firmware_host.outputs.raw_words import pack_words, unpack_words

Cell = int | float | str | bytes | None
Cells = tuple[Cell, ...]
TableRow = tuple[str, Cells]
"""A table's name, and a row with its check at the end."""

Other = LinkChanged | Mark | PliesLaid | Tick | Unseen | Acknowledge | Shelve | SelfCheck

OTHER_KINDS: dict[str, type[Other]] = {
    "link": LinkChanged,
    "mark": Mark,
    "plies": PliesLaid,
    "tick": Tick,
    "unseen": Unseen,
    "acknowledge": Acknowledge,
    "shelve": Shelve,
    "self_check": SelfCheck,
}
"""The word under which each input that is no frame is stored."""

REASON_LETTERS = {
    Reason.NOT_READ: "n",
    Reason.DRIVER: "d",
    Reason.OPEN: "o",
    Reason.SHORT: "s",
    Reason.OUT_OF_RANGE: "r",
    Reason.DEAD_BUS: "b",
    Reason.UNREADABLE: "u",
}
_NO_REASON = "."
_REASONS: dict[str, Reason | None] = {letter: reason for reason, letter in REASON_LETTERS.items()}
_REASONS[_NO_REASON] = None
_OTHER_WORDS = {kind: word for word, kind in OTHER_KINDS.items()}
_EVENT_WORDS = {kind: word for word, kind in EVENT_KINDS.items()}
_INTEGER_LIMIT = 1 << 63
"""SQLite integers are signed and have 64 bits."""
_MS = 1000
_NAME = re.compile(r"[a-z]+[0-9]*", re.ASCII)


@dataclass(frozen=True, slots=True, kw_only=True)
class StoredInput:
    """One input with what is kept beside it."""

    n: int
    """Counts the inputs of a record from 1, in the order in which the core saw them."""
    given: Input
    raw: str | None = None
    """Raw words of a frame as received; None where it came from no board."""
    arrived_s: float | None = None
    """When the host had the frame, to the millisecond; an annotation that nothing judges."""


@dataclass(frozen=True, slots=True, kw_only=True)
class StoredEvent:
    """One event and the input that led to it."""

    n: int
    after_input: int
    event: Event


def row_bytes(table: str, cells: Cells) -> bytes:
    """Spell a row without its check, for check and hash: MessagePack of table and cells."""
    return msgspec.msgpack.encode([table, *cells])


def row_check(table: str, cells: Cells, before: int = 0) -> int:
    """CRC-32 of a row, continued from `before`; signed, because SQLite then needs four bytes."""
    return check_of(row_bytes(table, cells), before)


def check_of(row: bytes, before: int = 0) -> int:
    """Give the same of a row that is spelt already."""
    value = zlib.crc32(row, before & 0xFFFFFFFF)
    return value - (1 << 32) if value >> 31 else value


def checked(table: str, cells: Cells, before: int = 0) -> Cells:
    """Give a row as it is inserted: its cells, then their check."""
    return (*cells, row_check(table, cells, before))


def column_of(channel: Channel) -> str:
    """Name a channel's column, with the unit of its whole numbers: tenths of Pa, or mK.

    >>> from firmware_host.model.channels import channel_named
    >>> column_of(channel_named("part1"))
    'part1_mk'
    """
    if not _NAME.fullmatch(channel.name):
        raise ValueError(f"channel {channel.name!r} cannot name a column of the record")
    unit = "dpa" if channel.role.quantity is Quantity.PRESSURE else "mk"
    return f"{channel.name}_{unit}"


def _steps_of(channel: Channel) -> int:
    pressure = channel.role.quantity is Quantity.PRESSURE
    return PRESSURE_GRID if pressure else TEMPERATURE_GRID


def to_steps(value: float, steps_per_unit: int, name: str) -> int:
    """Turn a number on its grid into whole steps.

    Raises ValueError for a number that would come back as another one.
    """
    if not math.isfinite(value):
        raise ValueError(f"{name} = {value} cannot be recorded; missing is None with a reason")
    steps = round(value * steps_per_unit)
    if steps / steps_per_unit != value or abs(steps) >= _INTEGER_LIMIT:
        raise ValueError(f"{name} = {value!r} is not a whole number of 1/{steps_per_unit}")
    return steps


class FrameRows:
    """Frames of one group: n, time in ms, a column per channel, reasons, raws, lateness in ms."""

    def __init__(self, number: int, group: Group) -> None:
        self.table = f"frame_{number}"
        self._number = number
        self._name = group.name
        self._names = tuple(channel.name for channel in group.channels)
        self._steps = tuple(_steps_of(channel) for channel in group.channels)

    def encode(self, n: int, frame: Frame, raw: str | None, arrived_s: float | None) -> Cells:
        """Lay a frame out as cells. Raises ValueError for a frame that is not of this group."""
        size = len(self._steps)
        if len(frame.values) != size or len(frame.reasons) != size:
            raise ValueError(
                f"a frame of {self._name} has {len(frame.values)} values and "
                f"{len(frame.reasons)} reasons; the group has {size} channels"
            )
        values = tuple(
            None if value is None else to_steps(value, steps, name)
            for value, steps, name in zip(frame.values, self._steps, self._names, strict=True)
        )
        t_ms = to_steps(frame.time_s, _MS, "time_s")
        late_ms = None if arrived_s is None else round(arrived_s * _MS) - t_ms
        words = None if raw is None else pack_words(raw)
        return (n, t_ms, *values, _letters(frame.reasons), words, late_ms)

    def decode(self, cells: Sequence[Cell]) -> StoredInput:
        """Read the frame back. Raises ValueError for cells that `encode` does not make."""
        n, t_ms, *stored, letters, words, late_ms = cells
        if not isinstance(n, int) or not isinstance(t_ms, int) or len(stored) != len(self._steps):
            raise ValueError(f"{self.table} holds a row that is no frame")
        values = tuple(_from_steps(cell, at) for cell, at in zip(stored, self._steps, strict=True))
        frame = Frame(t_ms / _MS, self._number, values, self._reasons(letters))
        return StoredInput(
            n=n,
            given=frame,
            raw=unpack_words(words) if isinstance(words, bytes | str) else None,
            arrived_s=(t_ms + late_ms) / _MS if isinstance(late_ms, int) else None,
        )

    def _reasons(self, letters: Cell) -> tuple[Reason | None, ...]:
        if letters is None:
            return (None,) * len(self._steps)
        known = isinstance(letters, str) and all(letter in _REASONS for letter in letters)
        if not isinstance(letters, str) or not known or len(letters) != len(self._steps):
            raise ValueError(f"{self.table} holds the reasons {letters!r}")
        return tuple(_REASONS[letter] for letter in letters)


def _from_steps(cell: Cell, steps_per_unit: int) -> float | None:
    if cell is None:
        return None
    if not isinstance(cell, int):
        raise ValueError(f"{cell!r} stands where a whole number belongs")  # noqa: TRY004 - one kind of refusal for the reader
    return cell / steps_per_unit


def _letters(reasons: tuple[Reason | None, ...]) -> str | None:
    if not any(reasons):
        return None
    return "".join(_NO_REASON if why is None else REASON_LETTERS[why] for why in reasons)


def encode_other(n: int, given: Other) -> Cells:
    """Lay an input that is no frame out as cells."""
    return (n, _OTHER_WORDS[type(given)], _json(given))


def decode_other(cells: Sequence[Cell]) -> StoredInput:
    """Read it back. Raises ValueError for cells that `encode_other` does not make."""
    n, word, body = cells
    kind = OTHER_KINDS.get(str(word))
    if not isinstance(n, int) or not isinstance(body, str) or kind is None:
        raise ValueError(f"input {n!r} is of the unknown kind {word!r}")
    return StoredInput(n=n, given=msgspec.json.decode(body, type=kind))


def encode_event(n: int, after_input: int, event: Event) -> Cells:
    """Lay an event out as cells."""
    return (n, after_input, _EVENT_WORDS[type(event)], _json(event))


def decode_event(cells: Sequence[Cell]) -> StoredEvent:
    """Read an event back. Raises ValueError for cells that `encode_event` does not make."""
    n, after_input, word, body = cells
    kind = EVENT_KINDS.get(str(word))
    if kind is None or not isinstance(body, str):
        raise ValueError(f"event {n!r} is of the unknown kind {word!r}")
    if not isinstance(n, int) or not isinstance(after_input, int):
        raise ValueError(f"event {n!r} follows input {after_input!r}")  # noqa: TRY004 - one kind of refusal for the reader
    return StoredEvent(n=n, after_input=after_input, event=msgspec.json.decode(body, type=kind))


def _json(value: Other | Event) -> str:
    for field in dataclasses.fields(value):
        held = getattr(value, field.name)
        # JSON has no word for them and would quietly say null.
        if isinstance(held, float) and not math.isfinite(held):
            raise ValueError(f"{type(value).__name__}.{field.name} = {held} cannot be recorded")
    return msgspec.json.encode(value).decode()
