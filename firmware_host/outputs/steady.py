"""Bad news at once, good news once it has held: so that what flickers is one fault, not many."""

from __future__ import annotations


class Steady:
    """What was last said of one thing, and whether there is something new to say."""

    def __init__(self, hold_s: float, *, said: bool | None) -> None:
        """`said` is the word that stands; None where nothing was said yet."""
        self.said = said
        self._hold_s = hold_s
        self._good_since_s: float | None = None

    def look(self, now_s: float, *, good: bool) -> bool | None:
        """Give the word that is to be said now; None while the last one stands."""
        if not good:
            self._good_since_s = None
        elif self._good_since_s is None:
            self._good_since_s = now_s
        held = self._good_since_s is not None and now_s - self._good_since_s >= self._hold_s
        if self.said is good or (good and not held):
            return None
        self.said = good
        return good
