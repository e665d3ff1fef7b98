"""The newest snapshot to any client, and a client's commands to the core; waits for neither.

One thread owns all clients. The core hands over a snapshot (newer replaces older) and answers; the
thread hands over commands. A client that reads slowly skips snapshots; one that does not read at
all, or that talks nonsense, is dropped with one line that says why.
"""

from __future__ import annotations

import queue
import selectors
import socket
import threading
from collections import deque
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import msgspec

from firmware_host.clock import Clock
from firmware_host.model.commands import LONGEST_LINE, Answer, Request
from firmware_host.model.snapshot import Snapshot
from firmware_host.model.trend import Trend
from firmware_host.outputs.client_talk import ClientTalk, RefusedError
from firmware_host.outputs.socket_file import BACKLOG, SocketFile

MOST_CLIENTS = 32
STUCK_S = 5.0
"""Real time after which output that does not move gives the client up."""
SEND_BUFFER_BYTES = 8192
"""What the system may hold for a client; more would be snapshots that grow old unread."""
TURN_S = 0.25
"""Real time between looks at the stop flag and at stuck clients."""
IDLE_TURN_S = 5.0
"""The same while nobody is served; a newcomer or the end wakes the thread at once."""
MOST_ANSWERS = 1024
"""Beyond every request that 32 clients may have open, so an answer is never dropped."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """A command on its way to the core; the answer goes back under the same token."""

    token: int
    command: Request


class _Client:
    def __init__(self, connection: socket.socket, now_s: float) -> None:
        self.connection = connection
        self.talk = ClientTalk()
        self.moved_s = now_s
        """When output last moved, or had nothing to move."""
        self.events = 0
        """What the selector watches for."""


class StatusSocket:
    """The server. Made in the thread that starts the daemon, so that a refusal reaches a person."""

    def __init__(
        self,
        path: Path,
        clock: Clock,
        hand_over: Callable[[Asked], bool],
        died: Callable[[str, str], None],
    ) -> None:
        """Take the name and listen; clients are served from `start` on.

        `hand_over` puts a command on the core's inbox without waiting, False when it is full.
        `died` is told the thread's name and why, should it ever end by itself.
        Raises BusyError beside a live daemon, InputError for a path that cannot be a socket.
        """
        self._file = SocketFile(path, clock)
        self._clock = clock
        self._hand_over = hand_over
        self._died = died
        self._newest: deque[Snapshot] = deque(maxlen=1)
        self._answers: queue.Queue[tuple[int, Answer | Trend]] = queue.Queue(MOST_ANSWERS)
        self._woken, self._wake = socket.socketpair()
        self._stop = threading.Event()
        self._thread = threading.Thread(target=self._run, name="status-socket")
        self._selector = selectors.DefaultSelector()
        self._clients: set[_Client] = set()
        self._waiting: dict[int, _Client] = {}
        self._next_token = 0
        self._line: bytes | None = None
        for waiter in (self._woken, self._wake):
            waiter.settimeout(0.0)

    @property
    def clients(self) -> int:
        """How many clients are served now."""
        return len(self._clients)

    def start(self) -> None:
        """Begin to serve."""
        self._selector.register(self._file.listener, selectors.EVENT_READ, None)
        self._selector.register(self._woken, selectors.EVENT_READ, None)
        self._thread.start()

    def publish(self, snapshot: Snapshot) -> None:
        """Replace what clients are shown; from the core thread."""
        self._newest.append(snapshot)
        if self._clients:  # whoever comes later finds it waiting
            self._wake_up()

    def answer(self, token: int, answer: Answer | Trend) -> None:
        """Answer a command; from the core thread. A client that is gone misses it."""
        self._answers.put_nowait((token, answer))
        self._wake_up()

    def close(self) -> None:
        """Send what is answered already, let the clients go and remove the socket's name."""
        self._stop.set()
        self._wake_up()
        if self._thread.ident is not None:
            self._thread.join()
        self._selector.close()
        for end in (self._woken, self._wake):
            end.close()
        self._file.close()

    def _wake_up(self) -> None:
        try:
            self._wake.send(b"w")
        except BlockingIOError:
            return  # it is being woken already

    def _run(self) -> None:
        try:
            while not self._stop.is_set():
                self._turn(TURN_S if self._clients else IDLE_TURN_S)
            self._turn(0.0)
        except Exception as error:  # noqa: BLE001 - top of the thread: its death must be told
            self._died(threading.current_thread().name, repr(error))
        finally:
            for client in tuple(self._clients):
                self._drop(client)

    def _turn(self, timeout_s: float) -> None:
        for key, events in self._selector.select(timeout_s):
            if key.fileobj is self._file.listener:
                self._accept_all()
            elif key.fileobj is self._woken:
                self._woken.recv(4096)
            elif events & selectors.EVENT_READ:
                self._hear(key.data)
        self._take_answers()
        if self._newest and self._clients:
            self._line = msgspec.json.encode(self._newest.pop()) + b"\n"
        for client in tuple(self._clients):
            self._serve(client)

    def _accept_all(self) -> None:
        for _ in range(BACKLOG):
            try:
                connection, _ = self._file.listener.accept()
            except BlockingIOError:
                return
            except OSError:
                # No handle left: the listener stays readable, and trying at once would only
                # burn the processor.
                self._stop.wait(TURN_S)
                return
            self._welcome(connection)

    def _welcome(self, connection: socket.socket) -> None:
        connection.settimeout(0.0)
        connection.setsockopt(socket.SOL_SOCKET, socket.SO_SNDBUF, SEND_BUFFER_BYTES)
        client = _Client(connection, self._clock.monotonic_s())
        if len(self._clients) >= MOST_CLIENTS:
            client.talk.refuse(f"{MOST_CLIENTS} clients are served already; close one of them.")
            self._send(client)
            connection.close()
            return
        self._clients.add(client)
        self._listen(client)

    def _hear(self, client: _Client) -> None:
        try:
            data = client.connection.recv(LONGEST_LINE)
        except BlockingIOError:
            return
        except OSError:
            data = b""
        try:
            for command in client.talk.feed(data):
                self._pass_on(client, command)
        except RefusedError as error:
            client.talk.refuse(str(error))
            self._forget(client)
        if not data:
            client.talk.end_of_input()

    def _pass_on(self, client: _Client, command: Request) -> None:
        token = self._next_token
        self._next_token += 1
        self._waiting[token] = client
        if not self._hand_over(Asked(token=token, command=command)):
            del self._waiting[token]
            client.talk.answer(Answer(ok=False, text="the bench is too busy; say it again"))

    def _take_answers(self) -> None:
        while True:
            try:
                token, answer = self._answers.get_nowait()
            except queue.Empty:
                return
            client = self._waiting.pop(token, None)
            if client is not None:
                client.talk.answer(answer)

    def _serve(self, client: _Client) -> None:
        if self._line is not None:
            client.talk.offer(self._line)
        now_s = self._clock.monotonic_s()
        if not self._send(client):
            self._drop(client)
        elif not client.talk.pending:
            client.moved_s = now_s
            if client.talk.done:
                self._drop(client)
            else:
                self._listen(client)
        elif now_s - client.moved_s > STUCK_S * self._clock.rate:
            self._drop(client)
        else:
            self._listen(client)

    def _send(self, client: _Client) -> bool:
        """Send what goes without waiting; False when the client is gone."""
        try:
            while client.talk.pending:
                sent = client.connection.send(client.talk.pending)
                client.talk.pending = client.talk.pending[sent:]
                client.moved_s = self._clock.monotonic_s()
        except BlockingIOError:
            return True
        except OSError:
            return False
        return True

    def _listen(self, client: _Client) -> None:
        events = selectors.EVENT_READ if client.talk.listening else 0
        events |= selectors.EVENT_WRITE if client.talk.pending else 0
        if events == client.events:
            return
        if client.events:
            self._selector.unregister(client.connection)
        if events:
            self._selector.register(client.connection, events, client)
        client.events = events

    def _forget(self, client: _Client) -> None:
        self._waiting = {
            token: waiting for token, waiting in self._waiting.items() if waiting is not client
        }

    def _drop(self, client: _Client) -> None:
        self._forget(client)
        if client.events:
            self._selector.unregister(client.connection)
        client.connection.close()
        self._clients.discard(client)
