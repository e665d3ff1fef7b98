"""The socket's name in the file system: taken over from a dead owner, refused beside a live one.

Two daemons that start at once are kept apart by a lock on the folder while the name is taken.
"""

from __future__ import annotations

import fcntl
import os
import socket
import stat
import struct
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from firmware_host.clock import Clock
from firmware_host.errors import BusyError, InputError

MODE = 0o660
"""Owner and group may read and command; others see nothing."""
LONGEST_PATH = 107
"""Bytes; the system's limit for the address of a Unix socket, less its closing zero."""
BACKLOG = 128
"""Beyond it a client is turned away by the system, without a word from us."""
PROBE_TIMEOUT_S = 1.0
LOCK_TRIES = 40
LOCK_WAIT_S = 0.05
"""Real time between tries; a start holds the folder for milliseconds."""


class SocketFile:
    """A listening socket and the name that leads to it."""

    def __init__(self, path: Path, clock: Clock) -> None:
        """Listen at a path at which nobody else listens.

        Raises BusyError naming the live owner, InputError when the path cannot be a socket.
        """
        self.path = path.absolute()
        self._clock = clock
        _check_length(self.path)
        try:
            with self._folder_held():
                _clear_the_way(self.path)
                self.listener = _bind(self.path)
                self._ours = _identity(self.path)
        except (BusyError, InputError):
            raise
        except OSError as error:
            raise InputError(
                [
                    f"socket {self.path} cannot be made ({error.strerror}). Make its folder "
                    "writable, or set another path under [socket] in the bench file."
                ]
            ) from error

    def close(self) -> None:
        """Stop listening, and remove the name if it still leads here."""
        try:
            with self._folder_held():
                if _identity(self.path) == self._ours:
                    self.path.unlink()
        except OSError:
            return  # a name that cannot be removed is taken over at the next start
        finally:
            self.listener.close()

    @contextmanager
    def _folder_held(self) -> Iterator[None]:
        handle = os.open(self.path.parent, os.O_RDONLY | os.O_DIRECTORY | os.O_CLOEXEC)
        try:
            self._lock(handle)
            yield
        finally:
            os.close(handle)

    def _lock(self, handle: int) -> None:
        for _ in range(LOCK_TRIES):
            try:
                return fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
            except BlockingIOError:
                self._clock.sleep(LOCK_WAIT_S * self._clock.rate)
        raise BusyError(
            f"folder {self.path.parent} of the socket is locked by another program for "
            f"{LOCK_TRIES * LOCK_WAIT_S:.0f} s. Try again when it is done."
        )


def _check_length(path: Path) -> None:
    length = len(os.fsencode(path))
    if length > LONGEST_PATH:
        raise InputError(
            [
                f"socket path {path} is {length} bytes long, the system allows {LONGEST_PATH}. "
                "Set a shorter path under [socket] in the bench file."
            ]
        )


def _clear_the_way(path: Path) -> None:
    try:
        mode = path.lstat().st_mode
    except FileNotFoundError:
        return
    if not stat.S_ISSOCK(mode):
        raise InputError(
            [
                f"socket path {path} is {_kind(mode)}, which is left alone. Remove it, or set "
                "another path under [socket] in the bench file."
            ]
        )
    owner = _live_owner(path)
    if owner is not None:
        raise BusyError(
            f"another bagvigil ({owner}) already answers at {path}. Stop it, or give this bench "
            "another path under [socket] in its bench file."
        )
    path.unlink()


def _kind(mode: int) -> str:
    if stat.S_ISLNK(mode):
        return "a symbolic link"
    return "a folder" if stat.S_ISDIR(mode) else "a file that is no socket"


def _live_owner(path: Path) -> str | None:
    """Name the process that answers at a socket; None when nobody does."""
    with socket.socket(socket.AF_UNIX, socket.SOCK_STREAM) as probe:
        probe.settimeout(PROBE_TIMEOUT_S)
        try:
            probe.connect(str(path))
            credentials = probe.getsockopt(socket.SOL_SOCKET, socket.SO_PEERCRED, 12)
        except (ConnectionRefusedError, FileNotFoundError):
            return None
        except (TimeoutError, BlockingIOError):
            return "too busy to say which process"
    return f"process {struct.unpack('3i', credentials)[0]}"


def _bind(path: Path) -> socket.socket:
    listener = socket.socket(socket.AF_UNIX, socket.SOCK_STREAM | socket.SOCK_CLOEXEC)
    try:
        listener.bind(str(path))
        path.chmod(MODE)  # before listen(): until then nobody can connect
        listener.listen(BACKLOG)
        listener.settimeout(0.0)
    except OSError:
        listener.close()
        raise
    return listener


def _identity(path: Path) -> tuple[int, int]:
    found = path.lstat()
    return found.st_dev, found.st_ino
