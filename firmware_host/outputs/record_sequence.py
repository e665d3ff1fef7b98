"""Numbers and chains the rows of a record, in the order in which they are handed over.

Pure: rows in memory. A row is complete before it is queued, so that whoever hands over something
that cannot be recorded hears of it at once, and nothing has changed.
"""

from __future__ import annotations

from collections.abc import Sequence

from firmware_host.model.events import Event
from firmware_host.model.samples import Frame, Group, Input
from firmware_host.outputs.record_rows import (
    Cells,
    FrameRows,
    TableRow,
    checked,
    encode_event,
    encode_other,
    row_check,
)


class RowSequence:
    """Goes on from the last input and event of a record."""

    def __init__(
        self, groups: Sequence[Group], *, inputs: int, input_crc: int, events: int, event_crc: int
    ) -> None:
        self.inputs = inputs
        """Number of the last input."""
        self.events = events
        """Number of the last event."""
        self.lost = 0
        """Inputs that were let go so far."""
        self._input_crc = input_crc
        self._event_crc = event_crc
        self._unnoted = 0
        self._frames = [FrameRows(number, group) for number, group in enumerate(groups)]

    def add(
        self, given: Input, events: Sequence[Event], raw: str | None, arrived_s: float | None
    ) -> tuple[TableRow, ...]:
        """Make the rows of one input and what the core said to it.

        Raises ValueError, and changes nothing, for what could not be read back equal.
        """
        n = self.inputs + 1
        table, cells = self._input(n, given, raw, arrived_s)
        crc = row_check(table, cells, self._input_crc)
        said, event_crc = self._said(n, events)
        rows = (*self.lost_rows(), (table, (*cells, crc)), *said)
        self.inputs, self._input_crc = n, crc
        self.events, self._event_crc = self.events + len(said), event_crc
        return rows

    def let_go(self) -> None:
        """Count an input for which there was no room."""
        self.lost += 1
        self._unnoted += 1

    def lost_rows(self) -> tuple[TableRow, ...]:
        """Make the row that owns up to the inputs let go since the last one; often none."""
        if not self._unnoted:
            return ()
        row = checked("lost", (self.inputs, self._unnoted))
        self._unnoted = 0
        return (("lost", row),)

    def _input(
        self, n: int, given: Input, raw: str | None, arrived_s: float | None
    ) -> tuple[str, Cells]:
        if not isinstance(given, Frame):
            return "input", encode_other(n, given)
        if not 0 <= given.group < len(self._frames):
            raise ValueError(f"frame of group {given.group}; there are {len(self._frames)} groups")
        rows = self._frames[given.group]
        return rows.table, rows.encode(n, given, raw, arrived_s)

    def _said(self, n: int, events: Sequence[Event]) -> tuple[list[TableRow], int]:
        rows: list[TableRow] = []
        crc = self._event_crc
        for number, event in enumerate(events, self.events + 1):
            cells = encode_event(number, n, event)
            crc = row_check("event", cells, crc)
            rows.append(("event", (*cells, crc)))
        return rows, crc
