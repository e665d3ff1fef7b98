"""The record as outbox: what a phone must be told, in order, from what is certainly on the disk.

Transitions are read from the record's own event table, so nothing is published that a cut of power
could take back, and after a crash the same rows are read again. Belongs to one thread.
"""

from __future__ import annotations

import sqlite3
from collections import deque
from contextlib import closing
from dataclasses import dataclass, replace
from pathlib import Path

from firmware_host.errors import RecordError
from firmware_host.model.events import AlarmChanged, AlarmState, Event
from firmware_host.model.wire import JobOnWire, Topics, alarm_of, encode, notice_of
from firmware_host.outputs.mqtt_cursor import Cursor
from firmware_host.outputs.mqtt_flood import FloodGuard, summary_of
from firmware_host.outputs.record_reader import RawRow, open_record
from firmware_host.outputs.record_rows import decode_event, row_check
from firmware_host.outputs.record_schema import RECORD_NAME, damaged, reading

ROWS_AT_ONCE = 500
LOCKED_TIMEOUT_S = 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Outgoing:
    """One message on its way."""

    topic: str
    payload: bytes
    retain: bool = False
    expiry_s: int | None = None
    alarm_id: str | None = None
    """The alarm whose word this is; a notice of it has none."""
    sums_up: int | None = None
    """Number of the last event for which a line that speaks of many stands."""


class Outbox:
    """Messages of one job's events, from where the cursor stands on."""

    def __init__(self, folder: Path, topics: Topics, job: JobOnWire, cursor: Cursor) -> None:
        self._path = folder / RECORD_NAME
        self._topics = topics
        self._job = job
        self._cursor = cursor.event
        self._summed = cursor.summed
        self._flood = FloodGuard(cursor.summed)
        self._read = 0
        self._read_crc = 0
        self._pending: deque[tuple[int, Outgoing]] = deque()
        self._standing: dict[str, Outgoing] = {}

    @property
    def through(self) -> Cursor:
        """Up to where everything is confirmed."""
        return Cursor(
            event=self._pending[0][0] - 1 if self._pending else max(self._read, self._cursor),
            summed=self._summed,
        )

    @property
    def head(self) -> Outgoing | None:
        """What is to be sent next; it stays until it is confirmed."""
        return self._pending[0][1] if self._pending else None

    @property
    def standing(self) -> tuple[Outgoing, ...]:
        """The last confirmed word on every alarm: a broker may have forgotten it."""
        return tuple(self._standing.values())

    def has_told(self, alarm_id: str) -> bool:
        """Whether a transition of this alarm was confirmed already."""
        return any(told.alarm_id == alarm_id for told in self._standing.values())

    def confirmed(self) -> None:
        """Strike off the head."""
        _, message = self._pending.popleft()
        self._note(message)

    def refill(self, now_s: float) -> None:
        """Read on in the record while there is nothing to send; `now_s` is on the job's time line.

        Raises RecordError where it cannot be read, or a row is not what was written.
        """
        while not self._pending:
            rows = self._rows()
            for row in rows:
                self._take(row)
            if len(rows) < ROWS_AT_ONCE:
                self._sum_up(now_s)
                return

    def _rows(self) -> list[RawRow]:
        uri = f"{self._path.absolute().as_uri()}?mode=ro"
        query = "SELECT * FROM event WHERE n > ? ORDER BY n LIMIT ?"
        # Opened anew each time: a reader that stays would keep the log from being folded in.
        with (
            reading(self._path),
            closing(sqlite3.connect(uri, uri=True, timeout=LOCKED_TIMEOUT_S)) as connection,
        ):
            found = connection.execute(query, (self._read, ROWS_AT_ONCE)).fetchall()
        return [RawRow(table="event", cells=row[:-1], crc=row[-1]) for row in found]

    def _take(self, row: RawRow) -> None:
        if row_check("event", row.cells, self._read_crc) != row.crc:
            raise damaged(self._path, f"event {row.number} does not fit its check")
        try:
            event = decode_event(row.cells).event
        except ValueError as error:
            raise damaged(self._path, f"event {row.number}: {error}") from error
        self._sum_up(event.time_s)
        messages = self._messages(row.number, event)
        if row.number > self._cursor:
            self._pending.extend((row.number, message) for message in messages)
        else:
            for message in messages:
                self._note(message)
        self._read, self._read_crc = row.number, row.crc

    def _messages(self, number: int, event: Event) -> list[Outgoing]:
        said: list[Outgoing] = []
        if isinstance(event, AlarmChanged):
            topic = self._topics.alarm(event.name, event.channel)
            said.append(_alarm(topic, event, self._job))
        notice = notice_of(event, self._job)
        if notice is None:
            return said
        if not isinstance(event, AlarmChanged) or self._flood.passes(number, event):
            said.append(Outgoing(topic=self._topics.notice, payload=encode(notice)))
        return said

    def _sum_up(self, now_s: float) -> None:
        held = self._flood.take(now_s)
        if held is not None:
            payload = encode(summary_of(held.events, self._job))
            message = Outgoing(topic=self._topics.notice, payload=payload, sums_up=held.through)
            self._pending.append((max(self._read, self._cursor) + 1, message))

    def _note(self, message: Outgoing) -> None:
        if message.sums_up is not None:
            self._summed = message.sums_up
        if message.alarm_id is not None:
            self._standing[message.topic] = message


def clearing(folder: Path, topics: Topics) -> tuple[Outgoing, ...]:
    """Clear what an earlier job left standing at the broker: its bag is not on the bench any more.

    A folder that cannot be read leaves nothing to clear.
    """
    standing: dict[str, AlarmChanged] = {}
    try:
        with open_record(folder) as record:
            job = JobOnWire.of(folder.name, record.meta.zero_wall)
            for event in record.events():
                if isinstance(event, AlarmChanged):
                    standing[topics.alarm(event.name, event.channel)] = event
    except (RecordError, ValueError):
        return ()
    return tuple(
        _alarm(topic, replace(event, state=AlarmState.CLEAR), job)
        for topic, event in standing.items()
        if event.state is not AlarmState.CLEAR
    )


def _alarm(topic: str, event: AlarmChanged, job: JobOnWire) -> Outgoing:
    return Outgoing(
        topic=topic, payload=encode(alarm_of(event, job)), retain=True, alarm_id=event.id
    )
