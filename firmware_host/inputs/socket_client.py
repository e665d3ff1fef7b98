"""The other end of the daemon's socket, for a command or a test: ask, mark, acknowledge, listen.

Blocking and short; every wait has its time-out.
"""

from __future__ import annotations

import socket
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TypeVar

import msgspec

from firmware_host.errors import BusyError
from firmware_host.model.commands import (
    AcknowledgeCommand,
    Answer,
    Command,
    MarkCommand,
    ShelveCommand,
)
from firmware_host.model.snapshot import Snapshot

TIMEOUT_S = 20.0
"""Real time; longer than the daemon lets a command wait for the disk."""

_Reply = TypeVar("_Reply", Snapshot, Answer)


def ask_snapshot(path: Path, timeout_s: float = TIMEOUT_S) -> Snapshot:
    """Ask for the newest snapshot, once.

    Raises BusyError when no daemon answers at the path.
    """
    with _connected(path, timeout_s) as lines:
        lines.say(Command(ask="snapshot"))
        return lines.hear(Snapshot)


def stream(path: Path, timeout_s: float = TIMEOUT_S) -> Iterator[Snapshot]:
    """Give each new snapshot as it comes, until the daemon goes.

    Raises BusyError when no daemon answers, or when this one falls silent or goes.
    """
    with _connected(path, timeout_s) as lines:
        lines.say(Command(ask="stream"))
        while True:
            yield lines.hear(Snapshot)


def send_mark(path: Path, mark: MarkCommand, timeout_s: float = TIMEOUT_S) -> Answer:
    """Say what was done; the answer comes once it is stored.

    Raises BusyError when no daemon answers at the path.
    """
    return _command(path, Command(mark=mark), timeout_s)


def send_acknowledge(
    path: Path, acknowledge: AcknowledgeCommand, timeout_s: float = TIMEOUT_S
) -> Answer:
    """Say that an alarm was seen; the answer comes once that is stored.

    Raises BusyError when no daemon answers at the path.
    """
    return _command(path, Command(acknowledge=acknowledge), timeout_s)


def send_shelve(path: Path, shelve: ShelveCommand, timeout_s: float = TIMEOUT_S) -> Answer:
    """Put an alarm aside; the answer comes once that is stored.

    Raises BusyError when no daemon answers at the path.
    """
    return _command(path, Command(shelve=shelve), timeout_s)


def _command(path: Path, command: Command, timeout_s: float) -> Answer:
    with _connected(path, timeout_s) as lines:
        lines.say(command)
        return lines.hear(Answer)


class _Lines:
    def __init__(self, path: Path, connection: socket.socket) -> None:
        self._path = path
        self._connection = connection
        self._heard = b""

    def say(self, command: Command) -> None:
        given = {
            "ask": command.ask,
            "mark": command.mark,
            "acknowledge": command.acknowledge,
            "shelve": command.shelve,
        }
        line = msgspec.json.encode({key: part for key, part in given.items() if part is not None})
        self._connection.sendall(line + b"\n")

    def hear(self, kind: type[_Reply]) -> _Reply:
        while b"\n" not in self._heard:
            data = self._connection.recv(65536)
            if not data:
                raise BusyError(f"bagvigil at {self._path} went away. See whether it still runs.")
            self._heard += data
        line, _, self._heard = self._heard.partition(b"\n")
        return self._understood(line, kind)

    def _understood(self, line: bytes, kind: type[_Reply]) -> _Reply:
        try:
            return msgspec.json.decode(line, type=kind)
        except msgspec.MsgspecError:
            refusal = _refusal(line)
        raise BusyError(f"bagvigil at {self._path} refused: {refusal}")


def _refusal(line: bytes) -> str:
    try:
        return msgspec.json.decode(line, type=Answer).text
    except msgspec.MsgspecError:
        return "it speaks another version. Use the same release on both sides."


@contextmanager
def _connected(path: Path, timeout_s: float) -> Iterator[_Lines]:
    with socket.socket(socket.AF_UNIX, socket.SOCK_STREAM) as connection:
        connection.settimeout(timeout_s)
        try:
            connection.connect(str(path))
            yield _Lines(path, connection)
        except (TimeoutError, BlockingIOError) as error:
            raise BusyError(
                f"bagvigil at {path} did not answer in {timeout_s:g} s. See whether it still runs."
            ) from error
        except BusyError:
            raise
        except OSError as error:
            raise BusyError(
                f"no bagvigil answers at {path} ({error.strerror or error}). "
                "Start bagvigil watch, or name the socket of the bench."
            ) from error
