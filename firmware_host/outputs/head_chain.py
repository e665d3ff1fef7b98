"""A chain of SHA-256 over blocks of the record: one line that stands for all rows before it.

Pure. Rows are taken in the order in which they were handed over, an input and then what was said to
it; every block's hash begins with that of the block before. A CRC finds what rotted. Whoever
changes a row and computes its check anew changes this line, and it stands in the report, at the
broker, and wherever else somebody wrote it down.

Source: FIPS 180-4 (SHA-256).
"""

from __future__ import annotations

import hashlib
from dataclasses import dataclass

BLOCK_INPUTS = 600
"""A minute of ten frames a second. What came after the last block is held by the checks alone."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Head:
    """The end of a block."""

    n: int
    """Counts the blocks from 1."""
    inputs: int
    """Number of the block's last input."""
    events: int
    """Number of its last event."""
    sha256: str
    """In hex digits."""


NO_HEAD = Head(n=0, inputs=0, events=0, sha256="")


class HeadChain:
    """Takes rows, and ends a block whenever it is told to."""

    def __init__(self, last: Head = NO_HEAD) -> None:
        """Go on after a block; the rows since then must be taken again."""
        self.last = last
        self.inputs, self.events = last.inputs, last.events
        self._hash = hashlib.sha256(bytes.fromhex(last.sha256))

    @property
    def is_full(self) -> bool:
        """Whether it is time to end the block."""
        return self.inputs - self.last.inputs >= BLOCK_INPUTS

    @property
    def is_empty(self) -> bool:
        """Whether nothing was taken since the last block."""
        return (self.inputs, self.events) == (self.last.inputs, self.last.events)

    def take_input(self, row: bytes) -> None:
        """Take an input's row, as `record_rows.row_bytes` spells it."""
        self.inputs += 1
        self._hash.update(row)

    def take_event(self, row: bytes) -> None:
        """Take an event's row."""
        self.events += 1
        self._hash.update(row)

    def end_block(self) -> Head:
        """Close the block; the next one goes on from its hash.

        >>> chain = HeadChain()
        >>> chain.take_input(b"abc")
        >>> chain.end_block().sha256[:16]
        'ba7816bf8f01cfea'
        """
        self.last = Head(
            n=self.last.n + 1,
            inputs=self.inputs,
            events=self.events,
            sha256=self._hash.hexdigest(),
        )
        self._hash = hashlib.sha256(bytes.fromhex(self.last.sha256))
        return self.last
