"""One client's side of the talk: its bytes in, its requests out, and what it still has to be sent.

At most one snapshot waits for a client; a newer one is offered again once that is gone. Answers
wait beside it, as many as the client has open requests. No socket here.
"""

from __future__ import annotations

from collections.abc import Iterator

import msgspec

from firmware_host.model.commands import LONGEST_LINE, Answer, Command, Request, TrendAsk
from firmware_host.model.trend import Trend

MOST_OPEN = 16
"""Requests of one client that may wait for their answer."""

_DECODER = msgspec.json.Decoder(Command)


class RefusedError(ValueError):
    """The client said something that is no request; the text is what it is told."""


def parse(line: bytes) -> Command:
    """Read one line from a client.

    Raises RefusedError in words for whoever wrote the client.
    """
    try:
        command = _DECODER.decode(line)
    except (msgspec.MsgspecError, UnicodeError, RecursionError) as error:
        raise RefusedError(
            f"not a request: {error}. See firmware_host/model/commands.py."
        ) from None
    given = (command.ask, command.mark, command.plies, command.acknowledge, command.shelve)
    if sum(part is not None for part in given) != 1:
        raise RefusedError("a request holds exactly one of ask, mark, plies, acknowledge, shelve.")
    return command


class ClientTalk:
    """What is known of one client."""

    def __init__(self) -> None:
        self.pending = b""
        """Bytes to send next."""
        self.open_requests = 0
        self.listening = True
        """Whether more is read; once nothing is and nothing is owed, the client is done."""
        self.streaming = False
        self._wants_snapshot = False
        self._seen: object = None
        self._heard = b""

    @property
    def done(self) -> bool:
        """Whether the client can be let go."""
        owed = self.pending or self.open_requests or self._wants_snapshot or self.streaming
        return not (self.listening or owed)

    def feed(self, data: bytes) -> Iterator[Request]:
        """Take bytes; give the commands that the core has to answer, one by one.

        Raises RefusedError at a line that is too long or no request; what came before it counts.
        """
        *lines, self._heard = (self._heard + data).split(b"\n")
        for line in lines:
            command = self._take(line)
            if command is not None:
                yield command
        _check_length(self._heard)

    def end_of_input(self) -> None:
        """Note that the client has said all it will say; it may go on listening."""
        self.listening = False

    def answer(self, answer: Answer | Trend) -> None:
        """Queue the answer to an open request."""
        self.open_requests -= 1
        self.pending += msgspec.json.encode(answer) + b"\n"

    def refuse(self, text: str) -> None:
        """Queue one last line and end."""
        self.pending += msgspec.json.encode(Answer(ok=False, text=text)) + b"\n"
        self.listening = False
        self.open_requests = 0
        self.streaming = self._wants_snapshot = False

    def offer(self, line: bytes) -> None:
        """Queue the newest snapshot, if the client wants it, has not had it and has read the last.

        The same bytes object is the same snapshot.
        """
        fresh = self._wants_snapshot or (self.streaming and line is not self._seen)
        if fresh and not self.pending:
            self.pending = line
            self._seen = line
            self._wants_snapshot = False

    def _take(self, line: bytes) -> Request | None:
        _check_length(line)
        if not line.strip():
            return None
        command = parse(line)
        if command.ask in ("snapshot", "stream"):
            self._wants_snapshot = True
            self.streaming = self.streaming or command.ask == "stream"
            return None
        if self.open_requests >= MOST_OPEN:
            raise RefusedError(f"{MOST_OPEN} requests wait for their answer already.")
        self.open_requests += 1
        given = command.mark or command.plies or command.acknowledge or command.shelve
        return given or TrendAsk()


def _check_length(line: bytes) -> None:
    if len(line) > LONGEST_LINE:
        raise RefusedError(f"a request is at most {LONGEST_LINE} bytes long.")
