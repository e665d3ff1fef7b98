"""A board that talks ten times a second whether anybody listens or not, each sample once.

Its bag reading counts the samples, so that an onlooker can tell from a record alone which samples
are there, which are missing and which are there twice.
"""

from __future__ import annotations

import os
import select
import termios
import threading
import tty
from pathlib import Path

from firmware_host.clock import SystemClock
from tests.inputs.boards import COUPLE_25C, SUPPLY, hello, sample

PERIOD_S = 0.1
_FIRST = 5_000
"""Count of some 8.7 kPa: samples up to 12,000 stay below the room's pressure."""


class TalkingBoard:
    """A board at the end of a pseudo terminal named `path`, with a thread of its own."""

    def __init__(self, path: Path) -> None:
        self._ours, self._theirs = os.openpty()
        tty.setraw(self._theirs)
        os.set_blocking(self._ours, False)
        path.symlink_to(os.ttyname(self._theirs))
        self._stop = threading.Event()
        self._said = 0
        self.said_at_s: list[float] = []
        """Monotonic moment of each sample, the first one first."""
        self._clock = SystemClock()
        self._thread = threading.Thread(target=self._talk, daemon=True)
        self._thread.start()

    @property
    def said(self) -> int:
        """Number of the last sample."""
        return self._said

    def forget(self) -> None:
        """Lose what nobody has read: a port that is closed keeps nothing."""
        termios.tcflush(self._theirs, termios.TCIFLUSH)

    def close(self) -> None:
        """Take the board away."""
        self._stop.set()
        self._thread.join()
        os.close(self._theirs)
        os.close(self._ours)

    def _talk(self) -> None:
        begun_s = self._clock.monotonic_s()
        while not self._stop.wait(PERIOD_S):
            asked = b""
            if select.select([self._ours], [], [], 0.0)[0]:
                asked = os.read(self._ours, 4096)
            self._said += 1
            line = hello() if b"?H" in asked else b""
            self.said_at_s.append(self._clock.monotonic_s())
            t_ms = round((self.said_at_s[-1] - begun_s) * 1000.0)
            self._send(line + sample(self._said & 0xFFFF, t_ms, raws(self._said)))

    def _send(self, line: bytes) -> None:
        try:
            os.write(self._ours, line)
        except BlockingIOError:
            self.forget()


def raws(number: int) -> tuple[str, ...]:
    """Give the raw words of a sample."""
    return (str(_FIRST + number), COUPLE_25C, str(SUPPLY))


def number_of(raw: str) -> int:
    """Give the number of the sample with these raw words."""
    return int(raw.split(",")[0]) - _FIRST


def bag_pa(number: int) -> float:
    """Give the pressure that a sample stands for: (p / 100 kPa) is (ratio - 0.1) / 0.8."""
    return ((_FIRST + number) / SUPPLY - 0.1) / 0.8 * 100_000.0
