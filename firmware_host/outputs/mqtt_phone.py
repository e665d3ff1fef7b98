"""The way to a phone: one thread that tells the broker, and says when nobody is being told.

The core never waits for it: it leaves the newest snapshot, and the record's writer knocks when an
event is stored. Times are real seconds; a demo's fast clock does not hurry a network.
"""

from __future__ import annotations

import logging
import math
import random
import select
import socket
import threading
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path

from firmware_host.clock import Clock
from firmware_host.errors import RecordError
from firmware_host.model.snapshot import Snapshot
from firmware_host.model.wire import JobOnWire, encode, presence
from firmware_host.outputs.mqtt_cursor import Cursor, last_told, read_cursor, write_cursor
from firmware_host.outputs.mqtt_ears import AckEars
from firmware_host.outputs.mqtt_link import CONNECT_TIMEOUT_S, BrokerLink
from firmware_host.outputs.mqtt_login import Login
from firmware_host.outputs.mqtt_outbox import Outbox, Outgoing, clearing
from firmware_host.outputs.mqtt_path import Ending, PathWatch, Pauses
from firmware_host.outputs.mqtt_sender import Sender
from firmware_host.outputs.mqtt_state import StateTeller

TURN_S = 0.25
"""How soon a stop and a new state are noticed; a stored event wakes the thread at once."""
REFILL_EVERY_S = 1.0
SAVE_EVERY_S = 1.0
RETURNED_EMPTY_S = 2.0
"""A broker that lost its memory has lost its listeners too: they get this long to come back."""
LEAVE_WITHIN_S, OFFLINE_WITHIN_S = 0.8, 0.5
"""For what is stored but not told yet when the daemon stops, and for the last word."""
JOIN_WITHIN_S = 2.0
"""A thread that waits for a name or a host that does not answer ends with the process."""

_LOG = logging.getLogger(__name__)


class Phone:
    """`start` it once; `show`, `wake` and `close` are for the other threads."""

    def __init__(
        self,
        login: Login,
        folder: Path,
        job: JobOnWire,
        clock: Clock,
        *,
        job_now_s: Callable[[], float],
        say: Callable[[bool, str], bool],
        ears: AckEars,
        died: Callable[[str, str], None],
    ) -> None:
        """`say` takes whether the path is up, and why, without waiting; False: ask again.

        `job_now_s` reads the job's time line. `died` is told the thread's name and why, should it
        ever end by itself.
        """
        self._login = login
        self._folder = folder
        self._clock = clock
        self._job_now_s = job_now_s
        self._say, self._ears, self._died = say, ears, died
        now_s = self._now_s()
        self._saved = read_cursor(folder)
        self._fits_s = self._refilled_s = self._opened_s = self._next_try_s = now_s
        self._outbox = Outbox(folder, login.topics, job, self._saved or Cursor())
        self._state = StateTeller(login.topics, job)
        self._path = PathWatch(login.where, now_s)
        self._sender = Sender(self._outbox, self._state, self._path)
        self._pauses = Pauses(random.Random())
        self._link: BrokerLink | None = None
        self._is_in = self._was_in = self._is_knocked = False
        self._unsaid: tuple[bool, str] | None = None
        self._stop = threading.Event()
        self._woken, self._wake = socket.socketpair()
        for end in (self._woken, self._wake):
            end.settimeout(0.0)
        self._thread = threading.Thread(target=self._run, name="phone", daemon=True)

    def start(self) -> None:
        """Begin to tell."""
        self._thread.start()

    def show(self, snapshot: Snapshot) -> None:
        """Leave the newest snapshot."""
        self._state.show(snapshot)

    def wake(self) -> None:
        """Look into the record: an event is stored."""
        with suppress(BlockingIOError):  # it is being woken already
            self._wake.send(b"w")

    def close(self) -> None:
        """Tell what is stored, say that the bench is offline, and leave."""
        self._stop.set()
        self.wake()
        if self._thread.ident is not None:
            self._thread.join(JOIN_WITHIN_S)
        if not self._thread.is_alive():
            self._woken.close()
            self._wake.close()

    def _run(self) -> None:
        try:
            if self._login.is_bare:
                _LOG.warning("the broker's password travels in the clear; set [mqtt] ca_file")
            while not self._stop.is_set():
                self._turn()
            self._leave()
        except Exception as error:  # noqa: BLE001 - top of the thread: its death must be told
            self._say(False, f"Nobody is told: the thread ended ({error!r}). Start bagvigil again.")  # noqa: FBT003 - a callback has no keywords
            self._died(threading.current_thread().name, repr(error))
        finally:
            if self._link is not None:
                self._link.close()

    def _turn(self) -> None:
        if self._link is not None:
            self._link.turn(TURN_S, self._woken)
            self._hear_knocks()
            self._follow(self._link)
        elif (wait_s := self._next_try_s - self._now_s()) > 0.0:
            select.select([self._woken], [], [], min(wait_s, TURN_S))
            self._hear_knocks()
        else:
            self._connect()
        self._tell_path()

    def _connect(self) -> None:
        self._opened_s = self._now_s()
        will = self._presence(online=False)
        link = BrokerLink(self._login, will, self._ears.hear, is_first=not self._was_in)
        link.open()
        self._link = link
        if link.ending is not None:
            self._lost(link.ending)

    def _follow(self, link: BrokerLink) -> None:
        now_s = self._now_s()
        if link.is_up and not self._is_in:
            self._let_in(link, now_s)
        elif not self._is_in and now_s - self._opened_s > CONNECT_TIMEOUT_S:
            link.give_up("it lets nobody in and says nothing")
        if link.was_heard and self._is_in:
            link.was_heard = False
            self._path.heard(now_s)
        self._sender.settle(link, now_s)
        if link.ending is not None:
            self._lost(link.ending)
        elif self._is_in:
            self._refill(now_s)
            self._sender.send(link, now_s)
            self._save(now_s)

    def _let_in(self, link: BrokerLink, now_s: float) -> None:
        self._is_knocked = True
        self._refill(now_s)  # what stands already is known from the record alone
        has_forgotten = self._was_in and not link.had_memory
        self._is_in = self._was_in = True
        self._path.connected(now_s)
        first = [self._presence(online=True), *self._left_standing(), *self._outbox.standing]
        pause_s = RETURNED_EMPTY_S if has_forgotten else 0.0
        self._sender.connected(first, events_from_s=now_s + pause_s)

    def _left_standing(self) -> tuple[Outgoing, ...]:
        """Clear what this bench's last job left at the broker, until this job has been told of."""
        if self._saved is not None:
            return ()
        folder = last_told(self._folder.parent, self._login.topics.bench, but=self._folder)
        return () if folder is None else clearing(folder, self._login.topics)

    def _lost(self, ending: Ending) -> None:
        now_s = self._now_s()
        lasted_s = now_s - self._opened_s if self._is_in else 0.0
        self._link, self._is_in = None, False
        self._sender.disconnected()
        self._path.ended(ending)
        pause_s = self._pauses.next_s(is_refusal=ending.is_refusal, lasted_s=lasted_s)
        self._next_try_s = now_s + pause_s

    def _refill(self, now_s: float) -> None:
        is_due = self._is_knocked or now_s - self._refilled_s >= REFILL_EVERY_S
        if self._outbox.head is not None or not is_due:
            return
        self._is_knocked, self._refilled_s = False, now_s
        # On leaving nothing waits for its minute.
        job_now_s = math.inf if self._stop.is_set() else self._job_now_s()
        try:
            self._outbox.refill(job_now_s)
        except RecordError as error:
            self._path.own_trouble(str(error))
        else:
            self._path.own_trouble("")

    def _save(self, now_s: float) -> None:
        """Keep the cursor, once what a new job clears first is cleared.

        The disk is waited for, and meanwhile nothing is sent or heard: so when all is told, or when
        the cursor has lagged for long.
        """
        through = self._outbox.through
        if through == self._saved:
            self._fits_s = now_s
        is_due = self._sender.is_idle or now_s - self._fits_s >= SAVE_EVERY_S
        if through == self._saved or not is_due or not self._sender.is_first_told:
            return
        self._fits_s = now_s
        try:
            write_cursor(self._folder, self._login.topics.bench, through)
        except OSError as error:
            _LOG.warning("%s: the cursor is not kept (%s)", self._folder, error.strerror)
        else:
            self._saved = through

    def _tell_path(self) -> None:
        word = self._path.look(self._now_s(), self._sender.oldest_sent_s)
        self._unsaid = word or self._unsaid
        if self._unsaid is not None and self._say(*self._unsaid):
            self._unsaid = None

    def _leave(self) -> None:
        if self._link is None or not self._is_in:
            return
        self._is_knocked = True
        self._refill(self._now_s())
        self._turn_until(lambda: self._sender.is_idle, LEAVE_WITHIN_S)
        if self._link is not None:
            self._sender.connected([self._presence(online=False)], events_from_s=math.inf)
            self._turn_until(lambda: self._sender.is_first_told, OFFLINE_WITHIN_S)
        self._save(self._now_s())

    def _turn_until(self, is_done: Callable[[], bool], within_s: float) -> None:
        end_s = self._now_s() + within_s
        while self._link is not None and not is_done() and self._now_s() < end_s:
            self._turn()

    def _presence(self, *, online: bool) -> Outgoing:
        said = presence(online=online, since=self._clock.wall())
        return Outgoing(topic=self._login.topics.presence, payload=encode(said), retain=True)

    def _hear_knocks(self) -> None:
        with suppress(BlockingIOError):
            self._is_knocked = bool(self._woken.recv(4096)) or self._is_knocked

    def _now_s(self) -> float:
        return self._clock.monotonic_s() / self._clock.rate
