"""Numbers and chains the rows of a record, in the order in which they are handed over.

Pure: rows in memory. A row is complete before it is queued, so that whoever hands over something
that cannot be recorded hears of it at once, and nothing has changed.
"""

from __future__ import annotations

from collections.abc import Sequence

from firmware_host.model.events import Event
from firmware_host.model.samples import Frame, Group, Input
from firmware_host.outputs.head_chain import HeadChain
from firmware_host.outputs.record_rows import (
    Cells,
    FrameRows,
    TableRow,
    check_of,
    checked,
    encode_event,
    encode_other,
    row_bytes,
)


class RowSequence:
    """Goes on from the last input and event of a record."""

    def __init__(
        self,
        groups: Sequence[Group],
        *,
        inputs: int,
        input_crc: int,
        events: int,
        event_crc: int,
        heads: HeadChain | None = None,
    ) -> None:
        """Go on from there. `heads` is None for a record that has no table for them."""
        self.inputs = inputs
        """Number of the last input."""
        self.events = events
        """Number of the last event."""
        self.lost = 0
        """Inputs that were let go so far."""
        self._input_crc = input_crc
        self._event_crc = event_crc
        self._unnoted = 0
        self._heads = heads
        self._frames = [FrameRows(number, group) for number, group in enumerate(groups)]

    def add(
        self, given: Input, events: Sequence[Event], raw: str | None, arrived_s: float | None
    ) -> tuple[TableRow, ...]:
        """Make the rows of one input and what the core said to it.

        Raises ValueError, and changes nothing, for what could not be read back equal.
        """
        n = self.inputs + 1
        table, cells = self._input(n, given, raw, arrived_s)
        spelt = row_bytes(table, cells)
        crc = check_of(spelt, self._input_crc)
        said, spelt_events, event_crc = self._said(n, events)
        rows = (*self.lost_rows(), (table, (*cells, crc)), *said)
        self.inputs, self._input_crc = n, crc
        self.events, self._event_crc = self.events + len(said), event_crc
        if self._heads is None:
            return rows
        self._heads.take_input(spelt)
        for event in spelt_events:
            self._heads.take_event(event)
        return (*rows, *self.head_rows()) if self._heads.is_full else rows

    def head_rows(self) -> tuple[TableRow, ...]:
        """End the block of the chain of hashes; no rows where there is nothing new."""
        if self._heads is None or self._heads.is_empty:
            return ()
        head = self._heads.end_block()
        return (("head", checked("head", (head.n, head.inputs, head.events, head.sha256))),)

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

    def _said(self, n: int, events: Sequence[Event]) -> tuple[list[TableRow], list[bytes], int]:
        rows: list[TableRow] = []
        spelt: list[bytes] = []
        crc = self._event_crc
        for number, event in enumerate(events, self.events + 1):
            cells = encode_event(number, n, event)
            spelt.append(row_bytes("event", cells))
            crc = check_of(spelt[-1], crc)
            rows.append(("event", (*cells, crc)))
        return rows, spelt, crc
