"""A Modbus gauge on a pseudo terminal, with every way to misbehave."""

from __future__ import annotations

import os
import select
import threading
import tty
from collections.abc import Callable
from pathlib import Path

from simulations.modbus import answer, framed

UNIT = 17
POLL_S = 0.02


def well(request: bytes, right: bytes | None) -> list[tuple[float, bytes]]:
    """Answer at once and in one piece."""
    del request
    return [] if right is None else [(0.0, right)]


Manner = Callable[[bytes, bytes | None], list[tuple[float, bytes]]]
"""Request and right answer to what is sent: pieces, each after so many seconds."""


class Gauge:
    """Answers with its registers, in the manner that it is told."""

    def __init__(self, link: Path, registers: dict[int, int], unit: int = UNIT) -> None:
        self.manner: Manner = well
        self.heard: list[bytes] = []
        self.registers = registers
        self.unit = unit
        self._ours, theirs = os.openpty()
        tty.setraw(theirs)
        link.symlink_to(os.ttyname(theirs))
        self._theirs = theirs
        self._end = threading.Event()
        self._thread = threading.Thread(target=self._answer, name="gauge")
        self._thread.start()

    def close(self) -> None:
        """Pull it out."""
        self._end.set()
        self._thread.join()
        for handle in (self._ours, self._theirs):
            os.close(handle)

    def _answer(self) -> None:
        pending = b""
        while not self._end.is_set():
            ready, _, _ = select.select([self._ours], [], [], POLL_S)
            pending = pending + os.read(self._ours, 4096) if ready else pending
            while len(pending) >= 8:
                request, pending = pending[:8], pending[8:]
                self.heard.append(request)
                for after_s, piece in self.manner(request, answer(request, self.unit, self._word)):
                    self._end.wait(after_s)
                    os.write(self._ours, piece)

    def _word(self, register: int) -> bytes | None:
        value = self.registers.get(register)
        return None if value is None else value.to_bytes(2, "big")


def silent(request: bytes, right: bytes | None) -> list[tuple[float, bytes]]:
    """Say nothing."""
    del request, right
    return []


def damaged(request: bytes, right: bytes | None) -> list[tuple[float, bytes]]:
    """Answer with a wrong check sum."""
    del request
    assert right is not None
    return [(0.0, right[:-1] + bytes((right[-1] ^ 0xFF,)))]


def short(request: bytes, right: bytes | None) -> list[tuple[float, bytes]]:
    """Lose the second half."""
    del request
    assert right is not None
    return [(0.0, right[: len(right) // 2])]


def another(request: bytes, right: bytes | None) -> list[tuple[float, bytes]]:
    """Answer with another unit's address."""
    del request
    assert right is not None
    return [(0.0, framed(bytes((UNIT + 1,)) + right[1:-2]))]


def late(request: bytes, right: bytes | None) -> list[tuple[float, bytes]]:
    """Answer well after the host has given up."""
    del request
    assert right is not None
    return [(0.35, right)]


def slow(request: bytes, right: bytes | None) -> list[tuple[float, bytes]]:
    """Send byte by byte, 5 ms apart."""
    del request
    assert right is not None
    return [(0.005, bytes((byte,))) for byte in right]
