"""How well a line that answers does: lines that come damaged, and a pace that nobody asked for.

Pure. Counted in slots of ten seconds and judged over the last minute. A trouble is told once, with
its figure of that moment, until a whole minute is free of it.
"""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass

SLOT_MS = 10_000
SLOTS = 6
"""A minute."""
MOST_DAMAGED_SHARE = 0.01
LEAST_DAMAGED = 2
"""One damaged line alone is no share of anything."""
LEAST_STEPS = 5
"""Periods that must have passed before a pace is judged."""
PACE_TOLERANCE = 0.25
"""A clock is off by parts in ten thousand, a wrong setting by a factor."""


@dataclass(slots=True)
class _Slot:
    good: int = 0
    damaged: int = 0
    span_ms: int = 0
    """Board time between samples that followed each other."""
    steps: int = 0
    """Periods in that span, lost samples included."""


class LineCare:
    """One port's minute."""

    def __init__(self, period_s: float | None, begin_ms: int) -> None:
        """Begin with nothing counted; `period_s` is what the bench file asks for."""
        self._period_s = period_s
        self._slots: deque[_Slot] = deque([_Slot()], maxlen=SLOTS)
        self._began_ms = begin_ms
        self._damage = self._pace = ""

    @property
    def trouble(self) -> str:
        """What is wrong, in words for the bench; empty while all is well."""
        return " ".join(filter(None, (self._damage, self._pace)))

    def heard(self, good: int, damaged: int) -> None:
        """Count lines."""
        self._slots[-1].good += good
        self._slots[-1].damaged += damaged

    def sampled(self, step_ms: int, steps: int) -> None:
        """Count a sample that came so much board time, and so many periods, after the last."""
        self._slots[-1].span_ms += step_ms
        self._slots[-1].steps += steps

    def look(self, now_ms: int) -> bool:
        """Judge once a slot is over; whether the trouble has changed."""
        if now_ms - self._began_ms < SLOT_MS:
            return False
        before = self.trouble
        self._judge_damage()
        self._judge_pace()
        self._began_ms = now_ms
        self._slots.append(_Slot())
        return self.trouble != before

    def _judge_damage(self) -> None:
        damaged = sum(slot.damaged for slot in self._slots)
        whole = damaged + sum(slot.good for slot in self._slots)
        if not damaged:
            self._damage = ""
        elif not self._damage and damaged >= LEAST_DAMAGED and damaged > MOST_DAMAGED_SHARE * whole:
            self._damage = (
                f"{100.0 * damaged / whole:.1f} % of its lines come damaged "
                f"(limit {100.0 * MOST_DAMAGED_SHARE:g} %). Check cable, plug and baud."
            )

    def _judge_pace(self) -> None:
        steps = sum(slot.steps for slot in self._slots)
        if self._period_s is None or steps < LEAST_STEPS:
            return
        period_s = sum(slot.span_ms for slot in self._slots) / steps / 1000.0
        ratio = period_s / self._period_s
        if 1.0 / (1.0 + PACE_TOLERANCE) <= ratio <= 1.0 + PACE_TOLERANCE:
            self._pace = ""
        elif not self._pace:
            self._pace = (
                f"It sends every {period_s:.3g} s, the bench file says {self._period_s:g} s. "
                "Correct period_s, or the board's firmware."
            )
