"""How many blocks go by from one reading to the next, where a log is slower than blocks are.

Pure. A row a minute fills twelve blocks with the same reading: that is one reading and not twelve.
The noise of a mean over n blocks is then s sqrt(c / n), with c blocks from reading to reading, and
a fall is sampled every c blocks.
"""

from __future__ import annotations

from collections import deque

REMEMBERED = 16


class Cadence:
    """Blocks between readings, lately."""

    __slots__ = ("_gaps", "_since")

    def __init__(self) -> None:
        self._gaps: deque[int] = deque(maxlen=REMEMBERED)
        self._since = 0

    def take(self, *, fresh: bool) -> None:
        """Take one block; fresh where something was read in it."""
        self._since += 1
        if fresh:
            self._gaps.append(self._since)
            self._since = 0

    @property
    def blocks(self) -> float:
        """Mean number of blocks from one reading to the next; 1 until one was seen.

        >>> slow = Cadence()
        >>> for number in range(48):
        ...     slow.take(fresh=number % 12 == 11)
        >>> slow.blocks
        12.0
        """
        return sum(self._gaps) / len(self._gaps) if self._gaps else 1.0
