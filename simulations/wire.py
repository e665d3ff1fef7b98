"""The serial line between board and cable: what it does to bytes while something is wrong with it.

Lines go in with their time and come out, whole, damaged, late or not at all. Randomness is the
line's own, so that a fault on it changes no sensor.
"""

from __future__ import annotations

import random
from collections import deque
from collections.abc import Sequence

from simulations.faults import LINE, Fault, FaultKind


class Wire:
    """One serial line."""

    def __init__(self, faults: Sequence[Fault], seed: int) -> None:
        self._faults = tuple(fault for fault in faults if fault.channel == LINE)
        self._rng = random.Random(f"{seed}:line")
        self._held: deque[tuple[float, bytes]] = deque()

    @property
    def next_due_s(self) -> float:
        """When a line that is held comes out; infinity when none is."""
        return self._held[0][0] if self._held else float("inf")

    def send(self, at_s: float, line: bytes) -> None:
        """Put a line on the wire; `due` gives it back once it is through."""
        faults = {fault.kind: fault for fault in self._faults if fault.holds(at_s)}
        arrives_s = at_s
        if FaultKind.DELAYED in faults:
            arrives_s += faults[FaultKind.DELAYED].line_amount
        if self._held:  # a line overtakes no other
            arrives_s = max(arrives_s, self._held[-1][0])
        if not self._is_lost(faults):
            self._held.append((arrives_s, self._damaged(line, faults)))

    def due(self, now_s: float) -> list[bytes]:
        """Take what has come through by now."""
        out = []
        while self._held and self._held[0][0] <= now_s:
            out.append(self._held.popleft()[1])
        return out

    def _is_lost(self, faults: dict[FaultKind, Fault]) -> bool:
        if FaultKind.OFF in faults:
            return True
        lost = faults.get(FaultKind.INTERMITTENT)
        return lost is not None and self._rng.random() < lost.line_amount

    def _damaged(self, line: bytes, faults: dict[FaultKind, Fault]) -> bytes:
        if FaultKind.GARBAGE in faults:
            return self._rng.randbytes(len(line))
        if FaultKind.NOISY not in faults:
            return line
        share, harmed = faults[FaultKind.NOISY].line_amount, bytearray(line)
        for bit in range(8 * len(line)):
            if self._rng.random() < share:
                harmed[bit // 8] ^= 1 << bit % 8
        return bytes(harmed)
