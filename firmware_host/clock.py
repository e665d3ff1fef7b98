"""The only module that asks what time it is. Durations use the monotonic reading.

That reading goes on while the computer sleeps: resin does not wait for it.

A demo or a test hands over another clock: `ScaledClock` runs faster than the world,
`ManualClock` is turned by hand.
"""

from __future__ import annotations

import time
from datetime import UTC, datetime, timedelta
from typing import Protocol

CLOSE_LOOKS_S = 0.1
LEAST_REAL_TIMEOUT_S = 0.5
"""However fast a scaled clock runs, a time-out never falls below this much real time."""


class Clock(Protocol):
    """What the shell may ask of time."""

    @property
    def rate(self) -> float:
        """Seconds of this clock in one real second."""

    def monotonic_s(self) -> float:
        """Seconds that never run backwards; only differences mean anything."""

    def asleep_s(self) -> float:
        """Seconds of the monotonic reading for which this computer was suspended."""

    def wall(self) -> datetime:
        """Date and time with offset, for people; never used for a duration."""

    def sleep(self, seconds: float) -> None:
        """Let this much of this clock's time pass."""


class SystemClock:
    """Real time."""

    rate = 1.0

    def monotonic_s(self) -> float:
        """See `Clock`."""
        return _since_boot_s()

    def asleep_s(self) -> float:
        """See `Clock`."""
        return _asleep_s()

    def wall(self) -> datetime:
        """See `Clock`."""
        return datetime.now().astimezone()

    def sleep(self, seconds: float) -> None:
        """See `Clock`."""
        time.sleep(seconds)


class ScaledClock:
    """Real time, `rate` times as fast; monotonic readings stay comparable between processes."""

    def __init__(self, rate: float) -> None:
        if not rate > 0.0:
            raise ValueError(f"clock rate {rate} must be above 0")
        self.rate = rate
        self._wall_at_start = datetime.now().astimezone()
        self._mono_at_start_s = self.monotonic_s()

    def monotonic_s(self) -> float:
        """See `Clock`."""
        return _since_boot_s() * self.rate

    def asleep_s(self) -> float:
        """See `Clock`."""
        return _asleep_s() * self.rate

    def wall(self) -> datetime:
        """See `Clock`."""
        return self._wall_at_start + timedelta(seconds=self.monotonic_s() - self._mono_at_start_s)

    def sleep(self, seconds: float) -> None:
        """See `Clock`."""
        time.sleep(seconds / self.rate)


class ManualClock:
    """A clock that a test turns by hand."""

    rate = 1.0

    def __init__(self, start_s: float = 0.0) -> None:
        self._now_s = start_s
        self.slept_s = 0.0
        self._wall_at_zero = datetime(2026, 3, 1, 8, 0, tzinfo=UTC)

    def monotonic_s(self) -> float:
        """See `Clock`."""
        return self._now_s

    def asleep_s(self) -> float:
        """See `Clock`."""
        return self.slept_s

    def wall(self) -> datetime:
        """See `Clock`."""
        return self._wall_at_zero + timedelta(seconds=self._now_s)

    def sleep(self, seconds: float) -> None:
        """Turn the clock; nothing waits."""
        self.turn(seconds)

    def turn(self, seconds: float) -> None:
        """Move time forward."""
        if seconds < 0.0:
            raise ValueError(f"a clock cannot be turned back by {-seconds} s")
        self._now_s += seconds

    def suspend(self, seconds: float) -> None:
        """Move time forward while the computer sleeps."""
        self.turn(seconds)
        self.slept_s += seconds


def _since_boot_s() -> float:
    return time.clock_gettime(time.CLOCK_BOOTTIME)


def _asleep_s() -> float:
    while True:
        before_s, boot_s, after_s = time.monotonic(), _since_boot_s(), time.monotonic()
        # Whoever loses the processor between two looks would find a sleep that was none.
        if after_s - before_s < CLOSE_LOOKS_S:
            return boot_s - before_s


def boot_id() -> str:
    """Name of this boot of the board: monotonic readings compare only within one.

    An empty string where the system does not tell; then a restart is bridged by wall time.
    """
    try:
        with open("/proc/sys/kernel/random/boot_id", encoding="ascii") as source:  # noqa: PTH123 - a kernel name, not a path of ours
            return source.read().strip()
    except OSError:
        return ""
