"""What the core is told of the disk: whether the record gets there, and how long its room lasts.

Kept by the core thread. Bad news at once, good news once it has held; room must have grown by a
fifth over its limit, because a forecast breathes.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator

from firmware_host.model.samples import Care, SelfCheck
from firmware_host.outputs.steady import Steady

RECORDING_HELD_S = 10.0
"""The disk must follow for this long before it is believed again."""
ROOM_LIMITS_S = {Care.DISK_DAY: 24.0 * 3600.0, Care.DISK_HOURS: 2.0 * 3600.0}
ROOM_BACK = 1.2


class DiskWatch:
    """What was last said of the disk, and what is to be said now."""

    def __init__(self, at_least_real_s: Callable[[float], float]) -> None:
        """`at_least_real_s` stretches a time-out where the clock runs fast."""
        held_s = at_least_real_s(RECORDING_HELD_S)
        self._steady = {
            what: Steady(held_s, said=True) for what in (Care.RECORDING, *ROOM_LIMITS_S)
        }

    def was_said(self, check: SelfCheck) -> None:
        """Take up what a run before this one has said."""
        if check.what in self._steady:
            self._steady[check.what].said = check.ok

    def look(self, now_s: float, trouble: str, room_left_s: float | None) -> Iterator[SelfCheck]:
        """Say what is new; `trouble` is empty while all rows get to the disk."""
        ok = self._steady[Care.RECORDING].look(now_s, good=not trouble)
        if ok is not None:
            text = trouble or "the disk follows again."
            yield SelfCheck(now_s, Care.RECORDING, ok=ok, text=text)
        if room_left_s is None:
            return
        for what, limit_s in ROOM_LIMITS_S.items():
            steady = self._steady[what]
            ok = steady.look(
                now_s, good=room_left_s >= limit_s * (1.0 if steady.said else ROOM_BACK)
            )
            if ok is not None:
                yield SelfCheck(now_s, what, ok=ok, text=_words(room_left_s, limit_s))


def _words(left_s: float, limit_s: float) -> str:
    return (
        f"the disk has room for {left_s / 3600.0:.1f} h more at the present pace "
        f"(limit {limit_s / 3600.0:.0f} h)."
    )
