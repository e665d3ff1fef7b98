"""When to tell the core that nothing came: silence must have consequences, live as in a replay.

Frames carry the time while they come. Once no port has delivered for three periods (at least a
second) the core is told the time each second, and every such tick is recorded.
"""

from __future__ import annotations

from collections.abc import Sequence

from firmware_host.inputs.timeline import Timeline
from firmware_host.model.samples import Group

QUIET_PERIODS = 3
LEAST_QUIET_S = 1.0
MOST_QUIET_S = 4.0
"""A slow port is not waited for longer: the service's watchdog wants something recorded."""
TICK_S = 1.0
FAST_RATE, FAST_QUIET_REAL_S = 10.0, 2.0
"""On a clock this fast a busy computer's hiccup would look like minutes of silence."""


class Ticker:
    """Decides from when on, and how often, the core is ticked."""

    def __init__(self, timeline: Timeline, groups: Sequence[Group]) -> None:
        """Begin as if something had just come."""
        periods_s = [group.period_s for group in groups if group.period_s is not None]
        quiet_s = QUIET_PERIODS * min(periods_s, default=0.0)
        quiet_s = min(max(quiet_s, LEAST_QUIET_S), MOST_QUIET_S)
        self._quiet_s = timeline.at_least_real_s(quiet_s)
        if timeline.clock.rate >= FAST_RATE:
            self._quiet_s = max(self._quiet_s, FAST_QUIET_REAL_S * timeline.clock.rate)
        self._tick_s = timeline.at_least_real_s(TICK_S)
        self._heard_s = timeline.now_s()
        self._ticked_s: float | None = None

    def heard(self, arrived_s: float) -> None:
        """Note that a frame came."""
        self._heard_s = max(self._heard_s, arrived_s)
        self._ticked_s = None

    def is_flowing(self, now_s: float) -> bool:
        """Tell whether frames come, so that they carry the time."""
        return now_s - self._heard_s < self._quiet_s

    def is_due(self, now_s: float) -> bool:
        """Whether the core is to be told the time now; once told, the next is a tick later."""
        if self.is_flowing(now_s):
            return False
        if self._ticked_s is not None and now_s - self._ticked_s < self._tick_s:
            return False
        self._ticked_s = now_s
        return True
