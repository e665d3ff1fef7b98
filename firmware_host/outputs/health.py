"""How well the daemon itself is doing: how far the core is behind, and whether the disk follows.

The service's watchdog is fed by progress alone: something was read or ticked, judged, and its
synced commit has returned. A loop that turns without that looks alive and is not. Only while the
record's writer says aloud that the disk does not follow is judging enough: a restart would lose
what waits in memory and mend no disk.
"""

from __future__ import annotations

import logging

from firmware_host.clock import Clock
from firmware_host.outputs.record_thread import Stored
from firmware_host.outputs.service import ServiceManager

LAG_LIMIT_S = 1.0
"""Real time from the arrival of a frame to its judgement; more is said aloud."""
STATUS_EVERY_S = 10.0
"""Real time between lines to the service manager."""

_LOG = logging.getLogger(__name__)


class Health:
    """Kept by the core thread."""

    def __init__(self, service: ServiceManager, clock: Clock) -> None:
        self._service = service
        self._clock = clock
        self._stored_at: int | None = None
        self._judged_at = 0
        self._worst_lag_s = 0.0
        self._told_s = clock.monotonic_s()
        self._was_late = False
        self._was_troubled = False

    @property
    def lag_s(self) -> float:
        """Worst lag since the last status line, in real seconds."""
        return self._worst_lag_s

    def ready(self) -> None:
        """Tell the service manager that the watch runs."""
        self._service.ready()

    def starting(self, seconds: float) -> None:
        """Ask the service manager for this much more time."""
        self._service.starting(seconds)

    def judged(self, lag_s: float) -> None:
        """Note how long after its arrival a frame was judged, in seconds of the clock."""
        self._worst_lag_s = max(self._worst_lag_s, lag_s / self._clock.rate)

    def look(self, stored: Stored, judged: int, trouble: str) -> None:
        """Feed the watchdog if there was progress, and say how things stand when it is time.

        `judged` is the number of the last input that the core has judged.
        """
        has_stored = self._stored_at is not None and stored.inputs > self._stored_at
        if has_stored or (trouble and judged > self._judged_at):
            self._service.alive()
        self._stored_at, self._judged_at = stored.inputs, judged
        self._say_trouble(trouble)
        now_s = self._clock.monotonic_s()
        if now_s - self._told_s >= STATUS_EVERY_S * self._clock.rate:
            self._told_s = now_s
            self._say_status(stored, trouble)

    def stopping(self) -> None:
        """Tell the service manager that the watch ends."""
        self._service.stopping()

    def close(self) -> None:
        """Let the service manager go."""
        self._service.close()

    def _say_trouble(self, trouble: str) -> None:
        if trouble and not self._was_troubled:
            _LOG.warning("recording: %s", trouble)
        elif self._was_troubled and not trouble:
            _LOG.warning("recording: the disk follows again")
        self._was_troubled = bool(trouble)

    def _say_status(self, stored: Stored, trouble: str) -> None:
        late = self._worst_lag_s > LAG_LIMIT_S
        if late and not self._was_late:
            _LOG.warning(
                "a frame was judged %.1f s after it came (limit %.0f s): this computer is too busy",
                self._worst_lag_s,
                LAG_LIMIT_S,
            )
        self._was_late = late
        text = f"{stored.frames} frames stored, at most {self._worst_lag_s * 1000.0:.0f} ms behind"
        self._service.status(f"{text}. {trouble}" if trouble else text)
        self._worst_lag_s = 0.0
