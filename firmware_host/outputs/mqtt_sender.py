"""What goes out next, and what is under way: one message of the outbox at a time, and one state.

A refused message stays where it is and is tried again with growing pauses: what the broker does
not take is not told, and what comes after it must not overtake it.
"""

from __future__ import annotations

import random
from collections import deque
from collections.abc import Iterable
from dataclasses import dataclass
from enum import Enum, auto
from typing import Protocol

from firmware_host.outputs.mqtt_outbox import Outbox, Outgoing
from firmware_host.outputs.mqtt_path import PathWatch, Pauses
from firmware_host.outputs.mqtt_state import StateTeller


class Line(Protocol):
    """What the sender asks of a connection."""

    confirmed: deque[tuple[int, str]]

    def publish(self, message: Outgoing) -> int:
        """Hand over a message, and give the number under which it is confirmed."""


class _Lane(Enum):
    STATE = auto()
    FIRST = auto()
    """What must stand before any event: presence, and alarms told earlier."""
    EVENT = auto()


@dataclass(frozen=True, slots=True)
class _Flight:
    lane: _Lane
    message: Outgoing
    sent_s: float


class Sender:
    """Belongs to the phone's thread."""

    def __init__(self, outbox: Outbox, state: StateTeller, path: PathWatch) -> None:
        self._outbox = outbox
        self._state = state
        self._path = path
        self._pauses = Pauses(random.Random())
        self._first: deque[Outgoing] = deque()
        self._refused: list[Outgoing] = []
        self._events_from_s = 0.0
        self._retry_s = 0.0
        self._flights: dict[int, _Flight] = {}

    @property
    def oldest_sent_s(self) -> float | None:
        """When the oldest message left that is not confirmed yet."""
        return min((flight.sent_s for flight in self._flights.values()), default=None)

    @property
    def is_idle(self) -> bool:
        """Whether everything that waits was told and confirmed."""
        return not (self._flights or self._first or self._outbox.head)

    @property
    def is_first_told(self) -> bool:
        """Whether what must stand before any event was told."""
        return not self._first

    def connected(self, first: Iterable[Outgoing], *, events_from_s: float) -> None:
        """Begin on a new connection: `first` goes out at once, events from a moment on."""
        self._flights.clear()
        self._refused.clear()
        self._first = deque(first)
        self._events_from_s, self._retry_s = events_from_s, 0.0
        self._state.begin_anew()

    def disconnected(self) -> None:
        """Take back what was under way: nobody will confirm it."""
        self._flights.clear()

    def send(self, line: Line, now_s: float) -> None:
        """Send what may go out now."""
        lanes = {flight.lane for flight in self._flights.values()}
        if not lanes & {_Lane.FIRST, _Lane.EVENT}:
            self._send_next(line, now_s)
        if _Lane.STATE not in lanes and (state := self._state.due(now_s)) is not None:
            self._fly(line, _Lane.STATE, state, now_s)

    def settle(self, line: Line, now_s: float) -> None:
        """Take in what was confirmed or refused."""
        while line.confirmed:
            mid, refusal = line.confirmed.popleft()
            flight = self._flights.pop(mid, None)
            if flight is None:
                continue
            if refusal:
                self._path.refused(flight.message.topic, refusal)
                self._take_back(flight, now_s)
            else:
                self._path.confirmed(flight.message.topic)
                self._strike_off(flight)

    def _send_next(self, line: Line, now_s: float) -> None:
        for alarm_id, notice in self._state.unrecorded():
            if not self._outbox.has_told(alarm_id):
                self._first.append(notice)
        if self._refused and now_s >= self._retry_s:
            self._first.extend(self._refused)
            self._refused.clear()
        if self._first:
            self._fly(line, _Lane.FIRST, self._first[0], now_s)
        elif (head := self._outbox.head) and now_s >= max(self._events_from_s, self._retry_s):
            self._fly(line, _Lane.EVENT, head, now_s)

    def _fly(self, line: Line, lane: _Lane, message: Outgoing, now_s: float) -> None:
        self._flights[line.publish(message)] = _Flight(lane, message, now_s)

    def _strike_off(self, flight: _Flight) -> None:
        if flight.lane is _Lane.FIRST:
            self._first.popleft()
        elif flight.lane is _Lane.EVENT:
            self._outbox.confirmed()
            self._pauses = Pauses(random.Random())

    def _take_back(self, flight: _Flight, now_s: float) -> None:
        if flight.lane is _Lane.STATE:
            return  # the next one is due soon anyway
        if flight.lane is _Lane.FIRST:
            self._refused.append(self._first.popleft())
        self._retry_s = now_s + self._pauses.next_s(is_refusal=True)
