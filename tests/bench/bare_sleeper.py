"""A process that only sleeps and looks how late it wakes: the machine's own share of lateness.

A process of its own, so that it waits for no interpreter's lock but its own.
"""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path
from types import TracebackType
from typing import Self

_SLEEPER = """\
import sys, time
from firmware_host.clock import SystemClock
clock, period_s, due_s = SystemClock(), float(sys.argv[1]), 0.0
while True:
    due_s = max(due_s, clock.monotonic_s()) + period_s
    clock.sleep(due_s - clock.monotonic_s())
    now_s = clock.monotonic_s()
    print(now_s, now_s - due_s, flush=True)
"""


class BareSleeper:
    """Sleeps from its beginning until it is left; then tells how late it woke."""

    def __init__(self, notes: Path, period_s: float) -> None:
        self._notes = notes
        with notes.open("wb") as out:
            self._process = subprocess.Popen(
                [sys.executable, "-c", _SLEEPER, str(period_s)], stdout=out
            )

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self._process.kill()
        self._process.wait()

    def late_s(self, start_s: float, end_s: float) -> list[float]:
        """Give how late it woke, each time in a span of the monotonic clock."""
        found = []
        for line in self._notes.read_text(encoding="ascii").splitlines():
            at_s, late_s = map(float, line.split())
            if start_s <= at_s < end_s:
                found.append(late_s)
        return found
