"""The hands of the simulated person: marks go to the daemon's socket as the panel would send them.

A socket may block, so one thread of its own does the talking and takes its work from a bounded
queue. A mark that finds no daemon yet is tried again, with its true age.
"""

from __future__ import annotations

import json
import queue
import socket
import threading
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from firmware_host.clock import Clock
from firmware_host.model.commands import LONGEST_AGO_S, LONGEST_LINE

TIMEOUT_S = 5.0
"""Real time that one attempt may take."""
RETRY_S = 0.5
"""Real time between attempts."""
MOST_WAITING = 64


@dataclass(frozen=True, slots=True)
class _Said:
    name: str
    made_s: float


def send_mark(path: Path, name: str, ago_s: float) -> tuple[bool, str]:
    """Send one mark and read the one-line answer: (ok, text).

    Raises OSError when nobody answers in time.
    """
    command = json.dumps({"mark": {"name": name, "ago_s": round(ago_s, 3)}})
    with socket.socket(socket.AF_UNIX, socket.SOCK_STREAM) as client:
        client.settimeout(TIMEOUT_S)
        client.connect(str(path))
        client.sendall(command.encode() + b"\n")
        line = b""
        while not line.endswith(b"\n") and len(line) <= LONGEST_LINE:
            piece = client.recv(LONGEST_LINE)
            if not piece:
                raise ConnectionError(f"{path} closed without an answer")
            line += piece
    try:
        answer = json.loads(line)
    except ValueError:
        return False, f"answer {line[:80]!r} is no JSON"
    return bool(answer.get("ok", False)), str(answer.get("text", ""))


class MarkSender:
    """Sends marks one after the other, in their order."""

    def __init__(self, path: Path, clock: Clock, tell: Callable[[str], None]) -> None:
        self._path = path
        self._clock = clock
        self._tell = tell
        self._waiting: queue.Queue[_Said | None] = queue.Queue(MOST_WAITING)
        self._closing = threading.Event()
        self._thread = threading.Thread(target=self._work, name="marks", daemon=True)
        self._thread.start()

    def say(self, name: str) -> None:
        """Hand over a mark made now; never waits."""
        try:
            self._waiting.put_nowait(_Said(name, self._clock.monotonic_s()))
        except queue.Full:
            self._tell(f"mark {name} dropped: {MOST_WAITING} marks wait for {self._path}")

    def close(self, patience_s: float = TIMEOUT_S) -> None:
        """Let the marks on their way go out, then stop."""
        self._closing.set()
        self._waiting.put(None, timeout=patience_s)
        self._thread.join(patience_s)

    def _work(self) -> None:
        while (said := self._waiting.get()) is not None:
            while not self._attempt(said):
                if self._closing.wait(RETRY_S):
                    self._tell(f"mark {said.name} not delivered: nobody at {self._path}")
                    break

    def _attempt(self, said: _Said) -> bool:
        """Whether the mark is settled, stored or refused."""
        ago_s = min(max(0.0, self._clock.monotonic_s() - said.made_s), LONGEST_AGO_S)
        try:
            ok, text = send_mark(self._path, said.name, ago_s)
        except OSError:
            return False
        if not ok:
            self._tell(f"mark {said.name} refused: {text}")
        return True
