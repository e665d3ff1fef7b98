"""A fast clock that waits for its machine."""

from __future__ import annotations

import threading

from firmware_host.clock import ScaledClock


class PatientClock(ScaledClock):
    """Real time, `rate` times as fast, of which no more than a moment passes between two looks.

    A busy machine leaves a process without a processor for seconds; on a plain fast clock that is
    minutes in which no gauge answers, and rightly an alarm. Good within one process only.
    """

    def __init__(self, rate: float, moment_s: float) -> None:
        """Begin; `moment_s` is of this clock's time, and longer than the pause between looks."""
        self._moment_s = moment_s
        self._lock = threading.Lock()
        self._looked_s: float | None = None
        self._waited_s = 0.0
        super().__init__(rate)

    @property
    def waited_s(self) -> float:
        """Time of this clock that the machine was given."""
        return self._waited_s

    def monotonic_s(self) -> float:
        """See `Clock`."""
        with self._lock:
            fast_s = super().monotonic_s()
            if self._looked_s is not None:
                self._waited_s += max(0.0, fast_s - self._looked_s - self._moment_s)
            self._looked_s = fast_s
            return fast_s - self._waited_s
