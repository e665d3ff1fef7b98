"""Temperatures that rise faster than a laminate can: held back for a minute before they alarm.

Pure, on block means. Even a runaway sheet takes a second for a kelvin; a couple that gains 12 K in
fifteen seconds has more likely come to lie on something else, and its fellows and its own noise
need a moment to say so. What is still there after a minute counts, however it came.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Mapping

LEAP_K, WITHIN_BLOCKS = 12.0, 4
"""Fifteen seconds; 0.8 K/s is past what sheets of some millimetres do (from memory)."""
HELD_S = 60.0
FREE_S = 300.0
"""After being held once a couple is not held again so soon: it may be truly fast."""


class Leaps:
    """Recent means of laminate and mould, by channel."""

    def __init__(self) -> None:
        self._recent: dict[str, deque[float]] = {}
        self._leapt_s: dict[str, float] = {}

    def sure(self, now_s: float, temps_k: Mapping[str, float | None]) -> dict[str, float | None]:
        """Give the means with those left out that have just leapt."""
        return {name: self._one(now_s, name, temp_k) for name, temp_k in temps_k.items()}

    def _one(self, now_s: float, name: str, temp_k: float | None) -> float | None:
        recent = self._recent.setdefault(name, deque(maxlen=WITHIN_BLOCKS))
        if temp_k is None:
            recent.clear()
            return None
        recent.append(temp_k)
        leapt_s = self._leapt_s.get(name)
        if leapt_s is None or now_s - leapt_s > FREE_S:
            if temp_k - min(recent) <= LEAP_K:
                return temp_k
            self._leapt_s[name] = leapt_s = now_s
        return None if now_s - leapt_s < HELD_S else temp_k
