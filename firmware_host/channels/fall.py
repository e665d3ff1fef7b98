"""A warm couple that cools faster than what it is glued to can: it came off, wholly or in part.

Pure, on block means. A laminate of some millimetres on a form loses a third of its rise in minutes,
never within one, while its fellows stay warm. Left-over resin in a cup takes half an hour. Without
a fellow only a fall of most of the rise convicts.
"""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass

WITHIN_BLOCKS = 13
"""A minute of block means of five seconds."""
WARM_K = 3.0
FALL_K, FALL_SHARE = 1.5, 0.35
"""With fellows that stayed: cure of 2 to 6 mm glass on a form, heat balance by hand."""
ALONE_K, ALONE_SHARE = 2.5, 0.6
FELLOWS_SHARE, FELLOWS_K = 0.10, 0.5


@dataclass(frozen=True, slots=True)
class _Seen:
    time_s: float
    temp_k: float
    rise_k: float
    fellows_k: float | None


class Fall:
    """One couple, and its fellows, over the last minute."""

    __slots__ = ("_seen",)

    def __init__(self) -> None:
        self._seen: deque[_Seen] = deque(maxlen=WITHIN_BLOCKS)

    def rest(self) -> None:
        """Forget: heat was put on or off, or the couple was not believed."""
        self._seen.clear()

    def since(
        self, now_s: float, temp_k: float, rise_k: float, fellows_k: float | None
    ) -> float | None:
        """Take one block; say since when the couple has fallen too fast, or None.

        The rise over the room says how warm it was; the fall is the couple's own, because a room
        may warm in a minute.
        """
        self._seen.append(_Seen(now_s, temp_k, rise_k, fellows_k))
        top = max(self._seen, key=lambda seen: seen.temp_k)
        fell_k = top.temp_k - temp_k
        if top.rise_k < WARM_K or fell_k < FALL_K:
            return None
        known = [seen.fellows_k for seen in self._seen if seen.fellows_k is not None]
        if len(known) < len(self._seen):
            return top.time_s if fell_k > max(ALONE_K, ALONE_SHARE * top.rise_k) else None
        stayed = max(known) - known[-1] < FELLOWS_SHARE * top.rise_k + FELLOWS_K
        return top.time_s if stayed and fell_k > FALL_SHARE * top.rise_k else None
