"""The life of a reader thread, the same for every kind of port: begun, waited for, its end told."""

from __future__ import annotations

import threading
from abc import ABC, abstractmethod
from collections.abc import Callable

from firmware_host.inputs.messages import PortMessage
from firmware_host.inputs.timeline import Timeline
from firmware_host.model.samples import LinkChanged

FIRST_RETRY_S = 0.5
LAST_RETRY_S = 5.0
"""Real time between openings: doubled from the first to the last."""


class PortThread(ABC):
    """One port's reader; `start`, and `join` once the stop event is set."""

    def __init__(
        self,
        name: str,
        number: int,
        *,
        timeline: Timeline,
        stop: threading.Event,
        put: Callable[[PortMessage], None],
        died: Callable[[str, str], None],
    ) -> None:
        """Prepare; nothing is opened before `start`.

        `number` is the group's place in the core's groups. `put` may wait for room until `stop` is
        set. `died` is told the thread's name and why, should it ever end by itself.
        """
        self._number, self._timeline, self._stop = number, timeline, stop
        self._put, self._died = put, died
        self._thread = threading.Thread(target=self._run, name=f"port-{name}")

    def start(self) -> None:
        """Begin to read."""
        self._thread.start()

    @property
    def is_alive(self) -> bool:
        """Whether the thread runs."""
        return self._thread.is_alive()

    def join(self) -> None:
        """Wait for the end that the stop event has asked for."""
        self._thread.join()

    @abstractmethod
    def _watch(self) -> None:
        """Open, read and open again, until the stop event is set."""

    def _run(self) -> None:
        try:
            self._watch()
        except Exception as error:  # noqa: BLE001 - top of the thread: its death must be told
            text = f"its reader failed ({error!r}). Start bagvigil again; the rest is watched on."
            self._put(LinkChanged(self._timeline.now_s(), self._number, up=False, text=text))
            self._died(self._thread.name, repr(error))
