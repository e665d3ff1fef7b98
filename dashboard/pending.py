"""A mark that waits ten seconds to be taken back, then is sent as of the moment of the press. Pure.

What is stored cannot be unsaid: the record keeps every mark. So the press opens a short window in
which the mark stands on the screen and one key takes it back; then it goes to the daemon with the
time that it waited, and counts from the press. The price: a panel that dies within the window
takes the mark with it.
"""

from __future__ import annotations

from dataclasses import dataclass

from firmware_host.model.commands import LONGEST_AGO_S, MarkCommand

TAKE_BACK_S = 10.0
"""Real time."""
REPEAT_S = 1.0
"""Real time in which a key pressed again is a bounce of the same press."""
ABANDONED = "abandoned"


@dataclass(frozen=True, slots=True, kw_only=True)
class PendingMark:
    """A mark on its way."""

    name: str
    pressed_s: float
    """On the panel's own clock."""
    earlier_s: float = 0.0
    """How long before the press it happened, as the person said; on the job's clock."""
    note: str = ""

    def left_s(self, now_s: float) -> float:
        """Tell how long it can still be taken back."""
        return max(TAKE_BACK_S - (now_s - self.pressed_s), 0.0)

    def command(self, now_s: float, clock_rate: float) -> MarkCommand:
        """Say it as of the press; the daemon's clock may run faster than the panel's."""
        waited_s = max(now_s - self.pressed_s, 0.0) * clock_rate
        ago_s = min(waited_s + self.earlier_s, LONGEST_AGO_S)
        return MarkCommand(name=self.name, ago_s=ago_s, note=self.note)


@dataclass(frozen=True, slots=True, kw_only=True)
class Laid:
    """A ply that was counted at once; a lower count takes it back."""

    laid: int
    at_s: float

    def stands(self, now_s: float) -> bool:
        """Tell whether it can still be taken back."""
        return now_s - self.at_s <= TAKE_BACK_S


class Bounce:
    """Tells a press from its own repeat: sticky gloves, worn keys, a pedal that chatters."""

    def __init__(self) -> None:
        self._last: dict[str, float] = {}

    def is_repeat(self, key: str, now_s: float) -> bool:
        """Tell whether the same key came within the last second, and note this press.

        A key held down repeats without end; each repeat counts from the one before it.
        """
        last_s = self._last.get(key)
        self._last[key] = now_s
        return last_s is not None and now_s - last_s < REPEAT_S
