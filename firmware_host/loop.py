"""The one thread that owns the core: takes from the inbox, judges, hands on, answers.

Nothing here waits for a disk, a client or a port. Every input is recorded with what the core said
to it, in the order in which the core saw it; that order is what a replay repeats. Inputs that the
daemon makes itself never lie before what the core has seen; a frame keeps the time at which it was
taken, also when a tick has overtaken it.
"""

from __future__ import annotations

import logging
import threading
from collections import deque
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Protocol

from firmware_host.inputs.inbox import Inbox
from firmware_host.inputs.messages import Arrived, PortCounts, PortMessage, ThreadDied
from firmware_host.inputs.said import answer_to, input_of, refusal
from firmware_host.inputs.ticker import Ticker
from firmware_host.inputs.timeline import Timeline
from firmware_host.model.commands import Answer, TrendAsk
from firmware_host.model.events import AlarmChanged, Event, MarkTaken, PhaseEntered
from firmware_host.model.samples import (
    Input,
    LinkChanged,
    Mark,
    SelfCheck,
    Tick,
    Unseen,
)
from firmware_host.model.snapshot import View
from firmware_host.model.trend import Trend
from firmware_host.outputs.disk_watch import DiskWatch
from firmware_host.outputs.health import Health
from firmware_host.outputs.publisher import Publisher
from firmware_host.outputs.record_thread import Stored
from firmware_host.outputs.status_socket import Asked

COMMAND_LEAD_MS = 1000
TURN_S = 0.25
"""Real time that a turn waits for a message; also how soon a stop is noticed."""
ANSWER_TURN_S = 0.02
"""The same while somebody waits for an answer."""
ANSWER_WITHIN_S = 10.0
"""Real time after which a command is answered although it is not stored yet."""
AWAY_S = 2.0
"""Real time without a turn: this computer was busy with something else, and so were the readers."""
LEAST_SLEEP_S = 1.0
SLEPT = "this computer slept"
REFOLD_STEPS = 5_000
REFOLD_EXTRA_S = 60.0
"""Asked of the service manager after every so many inputs of a long record."""

_HURRIED = (AlarmChanged, PhaseEntered, MarkTaken)
_LOG = logging.getLogger(__name__)

Message = PortMessage | Asked | ThreadDied | SelfCheck


class Core(Protocol):
    """What the loop asks of the monitor."""

    def step(self, given: Input) -> list[Event]:
        """Judge one input."""

    def view(self) -> View:
        """Say how things stand."""

    def trend(self) -> Trend:
        """Say how things went."""


class Recorder(Protocol):
    """What the loop asks of the record's writer."""

    @property
    def stored(self) -> Stored:
        """What is certainly on the disk."""

    @property
    def trouble(self) -> str:
        """What is wrong with the recording; empty while all is well."""

    @property
    def room_left_s(self) -> float | None:
        """Time for which the disk's room lasts; None while nobody knows."""

    def put(
        self,
        given: Input,
        events: Sequence[Event] = (),
        *,
        raw: str | None = None,
        arrived_s: float | None = None,
    ) -> int:
        """Hand over one input and what was said to it; never waits. Returns its number."""

    def close(self) -> None:
        """Store the rest."""


class Reader(Protocol):
    """What the loop asks of a reader thread."""

    def join(self) -> None:
        """Wait for the end that the stop event has asked for."""


@dataclass(frozen=True, slots=True)
class _Owed:
    """An answer that waits for the disk."""

    number: int
    token: int
    answer: Answer
    until_s: float


class Loop:
    """The core thread's work; `resume` if need be, then `run` until the stop event is set."""

    def __init__(
        self,
        *,
        core: Core,
        timeline: Timeline,
        inbox: Inbox[Message],
        ticker: Ticker,
        recorder: Recorder,
        publisher: Publisher,
        health: Health,
        answer: Callable[[int, Answer | Trend], None],
        tell: Sequence[Callable[[Sequence[Event]], None]] = (),
        readers: Sequence[Reader] = (),
        stop: threading.Event,
        began_ms: int | None = None,
    ) -> None:
        """Begin now, or at `began_ms`: what was before and is not in the record, nobody watched.

        `answer` carries an answer back to the client that asked; each of `tell` is handed the
        events of every step that said something, and must not wait.
        """
        self._core = core
        self._timeline = timeline
        self._inbox = inbox
        self._ticker = ticker
        self._recorder = recorder
        self._publisher = publisher
        self._health = health
        self._answer = answer
        self._tell = tuple(tell)
        self._readers = tuple(readers)
        self._stop = stop
        self._began_ms = self._seen_ms = timeline.now_ms() if began_ms is None else began_ms
        self._asleep_s = timeline.clock.asleep_s()
        self._turned_s = timeline.now_s()
        self._is_current = True
        """Whether the core has seen all that the record holds."""
        self._disk = DiskWatch(timeline.at_least_real_s)
        self._judged = 0
        self._owed: deque[_Owed] = deque()
        self._hurry = True

    def resume(self, inputs: Iterable[Input], last_s: float | None, why: str) -> None:
        """Take a job up again: judge its recorded inputs once more, then note the gap.

        `last_s` is the latest time that the record knows; None for a record without inputs. A stop
        ends it early; then nothing is recorded. What goes wrong is raised once all is put away.
        """
        self._is_current = False
        try:
            self._is_current = self._refold(inputs)
        except BaseException:
            self._stop.set()
            self._put_away()
            raise
        if self._is_current and last_s is not None:
            self._seen_ms = max(self._began_ms, _ms(last_s))
            self._step(Unseen(self._seen_ms / 1000.0, last_s, why))

    def run(self) -> None:
        """Turn until the stop event is set, then put everything away.

        Raises RecordError when the disk did not take the rest.
        """
        try:
            self._health.ready()
            while not self._stop.is_set():
                self.turn(ANSWER_TURN_S if self._owed else TURN_S)
            self._health.stopping()
            self._drain()
        finally:
            self._stop.set()
            self._put_away()

    def turn(self, wait_s: float) -> None:
        """Take one message, if one comes within this much real time, and do what is due."""
        message = self._inbox.take(wait_s)
        was_away = self._was_away()
        self._note_sleep()
        if message is not None:
            self._handle(message)
        if not was_away:
            self._tick_if_quiet()
        self._look_after()

    def _refold(self, inputs: Iterable[Input]) -> bool:
        for number, given in enumerate(inputs, start=1):
            if self._stop.is_set():
                return False
            self._core.step(given)
            if isinstance(given, SelfCheck):
                self._disk.was_said(given)
            if number % REFOLD_STEPS == 0:
                self._health.starting(REFOLD_EXTRA_S)
        return True

    def _drain(self) -> None:
        for reader in self._readers:
            reader.join()
        if not self._is_current:
            return  # a core that has not seen the whole record may not add to it
        while (message := self._inbox.take(0.0)) is not None:
            self._handle(message)

    def _put_away(self) -> None:
        for reader in self._readers:
            reader.join()
        try:
            self._recorder.close()
        finally:
            self._settle(self._recorder.stored, at_end=True)
            self._health.close()

    def _handle(self, message: Message) -> None:
        if isinstance(message, Arrived):
            self._judge_frame(message)
        elif isinstance(message, LinkChanged):
            self._note_link(message)
        elif isinstance(message, PortCounts):
            self._publisher.counts(
                message.group, frames=message.frames, damaged=message.damaged, lost=message.lost
            )
        elif isinstance(message, Asked):
            self._take_command(message)
        elif isinstance(message, SelfCheck):
            level = logging.INFO if message.ok else logging.WARNING
            _LOG.log(level, "%s: %s", message.what.replace("_", " "), message.text)
            self._note_check(message)
        else:
            _LOG.error("thread %s ended: %s. Start bagvigil again.", message.thread, message.why)

    def _judge_frame(self, arrived: Arrived) -> None:
        self._ticker.heard(arrived.arrived_s)
        self._step(arrived.frame, raw=arrived.raw, arrived_s=arrived.arrived_s)
        self._health.judged(self._timeline.now_s() - arrived.arrived_s)

    def _was_away(self) -> bool:
        """Tell whether this thread itself was held up: the readers get a turn to hand over.

        What looks like silence then may lie in their hands, and nobody is to be blamed for it.
        """
        before_s, self._turned_s = self._turned_s, self._timeline.now_s()
        return self._turned_s - before_s >= AWAY_S * self._timeline.clock.rate

    def _note_sleep(self) -> None:
        """Own up to a span in which the computer was suspended: nobody watched."""
        asleep_s = self._timeline.clock.asleep_s()
        slept_s, self._asleep_s = asleep_s - self._asleep_s, asleep_s
        if slept_s >= LEAST_SLEEP_S:
            _LOG.warning("this computer slept for %.0f s: nobody watched", slept_s)
            self._hurry = True
            start_s, self._seen_ms = self._seen_ms / 1000.0, self._now_ms()
            self._step(Unseen(self._seen_ms / 1000.0, start_s, SLEPT))

    def _note_link(self, changed: LinkChanged) -> None:
        name = self._publisher.link(changed)
        level = logging.INFO if changed.up and not changed.limps else logging.WARNING
        _LOG.log(level, "port %s: %s", name, changed.text)
        self._hurry = True
        self._step(replace(changed, time_s=max(_ms(changed.time_s), self._seen_ms) / 1000.0))

    def _note_check(self, check: SelfCheck) -> None:
        self._hurry = True
        self._step(replace(check, time_s=max(_ms(check.time_s), self._seen_ms) / 1000.0))

    def _take_command(self, asked: Asked) -> None:
        if isinstance(asked.command, TrendAsk):
            self._answer(asked.token, self._core.trend())
            return
        why_not = refusal(asked.command)
        if why_not is not None:
            self._answer(asked.token, Answer(ok=False, text=why_not))
            return
        given = input_of(asked.command, self._command_ms())
        events = self._step(given)
        self._hurry = True
        until_s = self._timeline.now_s() + self._timeline.at_least_real_s(ANSWER_WITHIN_S)
        self._owed.append(_Owed(self._judged, asked.token, answer_to(given, events), until_s))

    def _tick_if_quiet(self) -> None:
        now_ms = self._now_ms()
        # What waits in the inbox came before now, and is judged before the core hears of now.
        if self._inbox.is_empty and self._ticker.is_due(now_ms / 1000.0):
            self._step(Tick(now_ms / 1000.0))

    def _step(
        self, given: Input, *, raw: str | None = None, arrived_s: float | None = None
    ) -> list[Event]:
        events = self._core.step(given)
        self._judged = self._recorder.put(given, events, raw=raw, arrived_s=arrived_s)
        at_s = given.heard_s if isinstance(given, Mark) else given.time_s
        self._seen_ms = max(self._seen_ms, _ms(at_s))
        if events:
            self._hurry = self._hurry or any(isinstance(event, _HURRIED) for event in events)
            for tell in self._tell:
                tell(events)
        return events

    def _look_after(self) -> None:
        trouble, stored = self._recorder.trouble, self._recorder.stored
        for check in self._disk.look(self._timeline.now_s(), trouble, self._recorder.room_left_s):
            self._note_check(check)
        self._settle(stored, at_end=False)
        self._publisher.publish(self._core.view, stored, at_once=self._hurry)
        self._hurry = False
        self._health.look(stored, self._judged, trouble)

    def _settle(self, stored: Stored, *, at_end: bool) -> None:
        now_s = self._timeline.now_s()
        while self._owed:
            owed = self._owed[0]
            if owed.number <= stored.inputs:
                self._answer(owed.token, owed.answer)
            elif at_end or now_s >= owed.until_s:
                self._answer(owed.token, _not_stored(self._recorder.trouble))
            else:
                return
            self._owed.popleft()

    def _command_ms(self) -> int:
        """Say when a command was heard: hardly after the newest frame, while frames come.

        On a fast clock the frames lag behind the host, and a command must not turn that lag into
        seconds of silence.
        """
        now_ms = self._now_ms()
        if not self._ticker.is_flowing(now_ms / 1000.0):
            return now_ms
        return min(now_ms, self._seen_ms + COMMAND_LEAD_MS)

    def _now_ms(self) -> int:
        return max(self._timeline.now_ms(), self._seen_ms)


def _ms(time_s: float) -> int:
    return round(time_s * 1000.0)


def _not_stored(trouble: str) -> Answer:
    why = trouble or "The disk has not answered yet."
    return Answer(ok=False, text=f"heard and judged, but not stored yet. {why}")
