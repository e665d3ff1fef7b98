"""One writer per job folder: a lock that the kernel drops when its owner dies.

The lock is on the open file, not in its text, so a file left over from a crash is simply taken
over. The text is the owner's process number, for the message to whoever comes second.
"""

from __future__ import annotations

import fcntl
import os
from pathlib import Path

from firmware_host.errors import BusyError, RecordError

LOCK_NAME = "record.lock"
_MODE = 0o640


class FolderLock:
    """Held from construction until `release`."""

    def __init__(self, folder: Path) -> None:
        """Take the folder, or raise BusyError naming the owner's process."""
        self._path = folder / LOCK_NAME
        self._handle = self._take()

    def release(self) -> None:
        """Give the folder back and leave no file behind; a second call does nothing."""
        if self._handle < 0:
            return
        self._path.unlink(missing_ok=True)
        os.close(self._handle)
        self._handle = -1

    def _take(self) -> int:
        while True:
            handle = self._open()
            try:
                fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
            except BlockingIOError:
                owner = os.pread(handle, 20, 0).decode("ascii", "replace").strip() or "unknown"
                os.close(handle)
                raise BusyError(
                    f"{self._path.parent} is being written by process {owner}. "
                    "One job has one writer: stop that one first, or begin another job."
                ) from None
            if self._is_still_there(handle):
                os.ftruncate(handle, 0)
                os.pwrite(handle, f"{os.getpid()}\n".encode(), 0)
                return handle
            # Its last owner removed the file between our open and our lock.
            os.close(handle)

    def _open(self) -> int:
        try:
            # No following of links: whoever may write here must not choose the file we empty.
            return os.open(self._path, os.O_RDWR | os.O_CREAT | os.O_NOFOLLOW, _MODE)
        except OSError as error:
            raise RecordError(
                f"{self._path} cannot be opened: {error.strerror}. Check the disk and rights."
            ) from error

    def _is_still_there(self, handle: int) -> bool:
        try:
            return os.path.samestat(os.fstat(handle), self._path.lstat())
        except FileNotFoundError:
            return False
