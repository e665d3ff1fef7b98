"""The one queue into the core thread.

Bounded, give or take a message for each thread that puts: a reader waits for room, so that what
it cannot hand over stays in the system's buffer and what falls out there is counted as lost by its
sequence number; everybody else is told no at once.
"""

from __future__ import annotations

import queue
import threading
from typing import Generic, TypeVar

MOST_WAITING = 20_000
"""Half an hour of frames at ten a second: a long record may be read again at the start."""
WAIT_S = 0.2
"""Real time between looks at the stop flag."""

_Message = TypeVar("_Message")


class Inbox(Generic[_Message]):
    """Messages in the order in which they came."""

    def __init__(self, stop: threading.Event, most: int = MOST_WAITING) -> None:
        self._stop = stop
        self._most = most
        # Half the price of the bounded kind, which is built of locks in Python; it is paid twice
        # for every frame.
        self._queue: queue.SimpleQueue[_Message] = queue.SimpleQueue()

    def put(self, message: _Message) -> None:
        """Hand over, waiting for room; once the daemon stops, what finds none is let go."""
        while self._is_full():
            if self._stop.wait(WAIT_S):
                return
        self._queue.put(message)

    def offer(self, message: _Message) -> bool:
        """Hand over without waiting; False when there is no room."""
        if self._is_full():
            return False
        self._queue.put(message)
        return True

    def take(self, timeout_s: float) -> _Message | None:
        """Take the oldest; None when there is none within this much real time."""
        try:
            return self._queue.get(timeout=timeout_s) if timeout_s > 0 else self._queue.get_nowait()
        except queue.Empty:
            return None

    @property
    def is_empty(self) -> bool:
        """Whether the core has caught up."""
        return self._queue.empty()

    def _is_full(self) -> bool:
        return self._queue.qsize() >= self._most
