"""The job's own time line: seconds since its zero, on whole milliseconds.

Reader threads and the core thread each ask it; it holds no state beside the clock.
"""

from __future__ import annotations

import math

from firmware_host.clock import LEAST_REAL_TIMEOUT_S, Clock


class Timeline:
    """Job time of a clock."""

    def __init__(self, clock: Clock, zero_mono_s: float) -> None:
        """Begin where the clock's monotonic reading was `zero_mono_s`.

        A job that is taken up again passes a zero that lies before this process began.
        """
        self.clock = clock
        self.zero_mono_s = zero_mono_s

    def now_ms(self) -> int:
        """Job time, rounded down to a whole millisecond."""
        return math.floor((self.clock.monotonic_s() - self.zero_mono_s) * 1000.0)

    def now_s(self) -> float:
        """Job time on the millisecond grid of every input."""
        return self.now_ms() / 1000.0

    def at_least_real_s(self, scaled_s: float) -> float:
        """Lengthen a time-out so that a fast clock leaves the real world half a second."""
        return max(scaled_s, LEAST_REAL_TIMEOUT_S * self.clock.rate)
