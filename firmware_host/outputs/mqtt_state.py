"""The retained state: every few seconds, at once when the phase or an alarm changed.

Only the newest counts; what could not be sent is not sent later.
"""

from __future__ import annotations

import math

from firmware_host.model.events import AlarmChanged, AlarmState
from firmware_host.model.snapshot import AlarmView, Snapshot
from firmware_host.model.wire import JobOnWire, Topics, encode, notice_of, state_of
from firmware_host.outputs.mqtt_outbox import Outgoing

EVERY_S = 5.0
KEPT_S = 3600
"""A broker forgets a state that is older: it would describe another day."""
RECORDING_FAULT = "recording_fault"


class StateTeller:
    """`show` is for the core's thread, the rest for the phone's."""

    def __init__(self, topics: Topics, job: JobOnWire) -> None:
        self._topics = topics
        self._job = job
        self._newest: Snapshot | None = None
        self._told: Snapshot | None = None
        self._told_s = -math.inf
        self._seq = 0
        self._unrecorded: set[str] = set()

    def show(self, snapshot: Snapshot) -> None:
        """Replace what is told next; never waits."""
        self._newest = snapshot

    def begin_anew(self) -> None:
        """Forget what was told: the broker may have forgotten it too."""
        self._told_s = -math.inf

    def due(self, now_s: float) -> Outgoing | None:
        """Give the state that is to be told now; None while none is."""
        newest, told = self._newest, self._told
        if newest is None or (newest is told and self._told_s > -math.inf):
            return None
        has_changed = told is None or _marks(newest) != _marks(told)
        if not has_changed and now_s - self._told_s < EVERY_S:
            return None
        self._told, self._told_s = newest, now_s
        self._seq += 1
        payload = encode(state_of(newest, self._job, self._seq))
        return Outgoing(topic=self._topics.state, payload=payload, retain=True, expiry_s=KEPT_S)

    def unrecorded(self) -> list[tuple[str, Outgoing]]:
        """Give notices of alarms, with the alarm's id, that a full or broken disk holds back.

        The record is the outbox; while it takes nothing, a lost vacuum must still be heard of. The
        notice has the id under which the record will tell it later. Each is given once.
        """
        newest = self._newest
        if newest is None or not _has_recording_fault(newest):
            return []
        found = []
        for alarm in newest.view.alarms:
            if alarm.state is AlarmState.ACTIVE and alarm.id not in self._unrecorded:
                self._unrecorded.add(alarm.id)
                notice = notice_of(_as_event(alarm), self._job)
                if notice is not None:
                    message = Outgoing(topic=self._topics.notice, payload=encode(notice))
                    found.append((alarm.id, message))
        return found


def _marks(snapshot: Snapshot) -> tuple[object, ...]:
    view = snapshot.view
    return (view.phase, *((alarm.id, alarm.state) for alarm in view.alarms))


def _has_recording_fault(snapshot: Snapshot) -> bool:
    return any(
        alarm.name == RECORDING_FAULT
        and alarm.state in (AlarmState.ACTIVE, AlarmState.ACKNOWLEDGED)
        for alarm in snapshot.view.alarms
    )


def _as_event(alarm: AlarmView) -> AlarmChanged:
    return AlarmChanged(
        time_s=alarm.raised_s,
        id=alarm.id,
        name=alarm.name,
        channel=alarm.channel,
        state=alarm.state,
        priority=alarm.priority,
        raised_s=alarm.raised_s,
        cleared_s=None,
        text=alarm.text,
        action=alarm.action,
    )
