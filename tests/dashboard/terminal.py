"""A program in a pseudo-terminal of 80 x 24: every byte that it sends there is kept."""

from __future__ import annotations

import fcntl
import os
import select
import struct
import subprocess
import termios
from collections.abc import Mapping, Sequence

from firmware_host.clock import SystemClock

CELLS, ROWS = 80, 24
TURN_S = 0.05
LARGEST_READ = 1 << 16


class Terminal:
    """See the module; `close` ends the program."""

    def __init__(
        self, command: Sequence[str], environment: Mapping[str, str] | None = None
    ) -> None:
        self._ours, theirs = os.openpty()
        fcntl.ioctl(theirs, termios.TIOCSWINSZ, struct.pack("HHHH", ROWS, CELLS, 0, 0))
        self._clock = SystemClock()
        self.begun_s = self._clock.monotonic_s()
        self.sent = bytearray()
        self.program = subprocess.Popen(
            command,
            stdin=theirs,
            stdout=theirs,
            stderr=theirs,
            start_new_session=True,
            env={**os.environ, "TERM": "xterm-256color", "PYTHONUTF8": "1", **(environment or {})},
        )
        os.close(theirs)

    def listen(self, for_s: float) -> bytes:
        """Take what comes within this time."""
        before, end_s = len(self.sent), self._clock.monotonic_s() + for_s
        while (left_s := end_s - self._clock.monotonic_s()) > 0.0:
            if not self._take(left_s):
                break
        return bytes(self.sent[before:])

    def listen_until(self, words: bytes, within_s: float) -> float:
        """Take what comes until the words have come; returns the time since the start."""
        end_s = self._clock.monotonic_s() + within_s
        while words not in self.sent:
            left_s = end_s - self._clock.monotonic_s()
            assert left_s > 0.0, f"{words!r} did not come within {within_s} s"
            assert self._take(left_s), f"the program ended before {words!r} came"
        return self._clock.monotonic_s() - self.begun_s

    def listen_to_end(self, within_s: float) -> bytes:
        """Take all until the program ends by itself."""
        end_s = self._clock.monotonic_s() + within_s
        while self._take(end_s - self._clock.monotonic_s()):
            assert self._clock.monotonic_s() < end_s, f"it did not end within {within_s} s"
        return bytes(self.sent)

    def press(self, keys: bytes) -> None:
        """Type."""
        os.write(self._ours, keys)

    def hang_up(self) -> None:
        """Let go of the terminal's other end, as a line that drops does."""
        os.close(self._ours)

    def close(self) -> None:
        """End the program and give the terminal up."""
        self.program.kill()
        self.program.wait()
        os.close(self._ours)

    def _take(self, within_s: float) -> bool:
        """Take one piece, if one comes; False once nobody holds the other end."""
        ready, _, _ = select.select([self._ours], [], [], max(min(within_s, TURN_S), 0.0))
        if not ready:
            return True
        try:
            piece = os.read(self._ours, LARGEST_READ)
        except OSError:  # how a pty tells that the last writer has gone
            return False
        self.sent += piece
        return bool(piece)
