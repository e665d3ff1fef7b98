"""The cable: a pseudo terminal that stands in for the board's serial port.

A fixed path points at the present one, so that the cable can be pulled (the terminal is closed,
the path is gone) and plugged in again (another terminal, the same path). Nothing here ever waits:
what nobody reads is dropped by whole lines and counted, as a board with a small buffer does.
"""

from __future__ import annotations

import contextlib
import os
import tty
from pathlib import Path

READ_BYTES = 4096


class PtyLink:
    """The board's end of a cable whose other end is at `path`."""

    def __init__(self, path: Path) -> None:
        self._path = path
        self._ours: int | None = None
        self._theirs: int | None = None
        self._unsent = b""
        self.overruns = 0
        """Lines that did not fit because nobody read."""
        self.plug()

    @property
    def plugged(self) -> bool:
        """Whether the cable is in."""
        return self._ours is not None

    def plug(self) -> None:
        """Put the cable in: open a terminal and point the path at it."""
        if self._ours is not None:
            return
        self._ours, self._theirs = os.openpty()
        tty.setraw(self._theirs)
        os.set_blocking(self._ours, False)
        self._unsent = b""
        beside = self._path.with_name(f".{self._path.name}.new")
        beside.unlink(missing_ok=True)
        beside.symlink_to(os.ttyname(self._theirs))
        beside.replace(self._path)

    def unplug(self) -> None:
        """Pull the cable: whoever reads sees the port vanish."""
        if self._ours is None or self._theirs is None:
            return
        self._path.unlink(missing_ok=True)
        os.close(self._theirs)
        os.close(self._ours)
        self._ours = self._theirs = None

    def write(self, line: bytes) -> bool:
        """Send a whole line; False when it was dropped because earlier ones still wait.

        With the cable out the line is lost without being an overrun: the board cannot tell.
        """
        if self._ours is None:
            return True
        self._flush(self._ours)
        if self._unsent:
            self.overruns += 1
            return False
        self._unsent = line
        self._flush(self._ours)
        if self._unsent == line:
            self._unsent = b""
            self.overruns += 1
            return False
        return True

    def read(self) -> bytes:
        """Take what the host has said; empty when it said nothing."""
        if self._ours is None:
            return b""
        with contextlib.suppress(BlockingIOError):
            return os.read(self._ours, READ_BYTES)
        return b""

    def close(self) -> None:
        """Take cable and path away."""
        self.unplug()

    def _flush(self, ours: int) -> None:
        """Send what is left of a line that went out in part."""
        with contextlib.suppress(BlockingIOError):
            while self._unsent:
                self._unsent = self._unsent[os.write(ours, self._unsent) :]
