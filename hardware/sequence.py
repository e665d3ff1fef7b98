"""Counters that wrap: which line came, which was lost, how long the board has been up.

Pure. Sample lines and status lines count apart, so each has a `SequenceCheck` of its own. A
restart is told by the boot id of a hello, never guessed from a counter; `restart` then forgets.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

_U16 = 1 << 16
_U32 = 1 << 32


class Order(StrEnum):
    """Where a line stands in its sequence."""

    NEXT = "next"
    DUPLICATE = "duplicate"
    GAP = "gap"
    OLD = "old"


@dataclass(frozen=True, slots=True, kw_only=True)
class Verdict:
    """What a sequence number says about its line."""

    order: Order
    lost: int = 0
    """Lines that never came, between the last one and this."""

    @property
    def is_new(self) -> bool:
        """Whether the line is to be used; a duplicate or an old one is dropped."""
        return self.order in (Order.NEXT, Order.GAP)


_NEXT = Verdict(order=Order.NEXT)
_DUPLICATE = Verdict(order=Order.DUPLICATE)
_OLD = Verdict(order=Order.OLD)


class SequenceCheck:
    """Follow one 16-bit sequence: d = (seq - last) mod 65536."""

    def __init__(self) -> None:
        self._last: int | None = None
        self.olds_in_a_row = 0
        """Several mean a restart whose hello was lost: ask the board for another."""

    def restart(self) -> None:
        """Forget the sequence: the board has a new boot id."""
        self._last = None
        self.olds_in_a_row = 0

    def take(self, seq: int) -> Verdict:
        """Judge the next line; only a new one moves the sequence on."""
        verdict = self._judge(seq)
        self.olds_in_a_row = self.olds_in_a_row + 1 if verdict.order is Order.OLD else 0
        if verdict.is_new:
            self._last = seq
        return verdict

    def _judge(self, seq: int) -> Verdict:
        if self._last is None:
            return _NEXT
        distance = (seq - self._last) % _U16
        if distance == 1:
            return _NEXT
        if distance == 0:
            return _DUPLICATE
        if distance < _U16 // 2:
            return Verdict(order=Order.GAP, lost=distance - 1)
        return _OLD


class TimeUnwrap:
    """Follow a 32-bit count of ms past its wrap after 49.7 days."""

    def __init__(self) -> None:
        self._unwrapped_ms: int | None = None

    def restart(self) -> None:
        """Forget the count: the board has a new boot id, and its time begins at 0 again."""
        self._unwrapped_ms = None

    def take(self, t_ms: int) -> int | None:
        """Return ms since boot without wraps; None when the count ran backwards.

        A step of up to half the range is forward, through a wrap if need be. Backwards is never
        made into a wrap: the line is old, or the board restarted and its hello was lost.
        """
        if self._unwrapped_ms is None:
            self._unwrapped_ms = t_ms
            return t_ms
        step_ms = (t_ms - self._unwrapped_ms) % _U32
        if step_ms >= _U32 // 2:
            return None
        self._unwrapped_ms += step_ms
        return self._unwrapped_ms
