"""Acknowledgements from a phone: checked strictly, a few a second, the rest refused and counted.

Whoever may write to the topic is the broker's business. An acknowledgement heard twice changes
nothing the second time, and one of another job is not ours.
"""

from __future__ import annotations

import logging
import math
from collections.abc import Callable

from firmware_host.model.commands import AcknowledgeCommand
from firmware_host.model.wire import JobOnWire, read_ack

MOST_PER_S = 5.0
SAY_EVERY_S = 60.0

_LOG = logging.getLogger(__name__)


class AckEars:
    """Belongs to the phone's thread."""

    def __init__(
        self,
        job: JobOnWire,
        now_s: Callable[[], float],
        hand_over: Callable[[AcknowledgeCommand], bool],
    ) -> None:
        """`hand_over` takes a command without waiting, False when there is no room."""
        self._job = job
        self._now_s = now_s
        self._hand_over = hand_over
        self._room = MOST_PER_S
        self._filled_s = now_s()
        self._refused = 0
        self._said_s = -math.inf

    def hear(self, payload: bytes) -> None:
        """Take one payload, whatever is in it."""
        why_not = self._take(payload)
        if why_not is None:
            return
        self._refused += 1
        if self._now_s() - self._said_s >= SAY_EVERY_S:
            self._said_s = self._now_s()
            _LOG.warning("acknowledgement refused, %d so far: %s", self._refused, why_not)

    def _take(self, payload: bytes) -> str | None:
        if not self._has_room():
            return f"more than {MOST_PER_S:.0f} a second"
        try:
            said = read_ack(payload)
        except ValueError as error:
            return str(error)
        alarm_id = self._job.alarm_id_of(said.id)
        if alarm_id is None:
            return "its id is of no alarm of this job"
        if not self._hand_over(AcknowledgeCommand(id=alarm_id, by=said.by)):
            return "the bench is too busy"
        return None

    def _has_room(self) -> bool:
        now_s = self._now_s()
        self._room = min(MOST_PER_S, self._room + (now_s - self._filled_s) * MOST_PER_S)
        self._filled_s = now_s
        if self._room < 1.0:
            return False
        self._room -= 1.0
        return True
