"""A pty that a bench writes to, and the bare reader that everybody would write first."""

from __future__ import annotations

import os
import select
import tty
from pathlib import Path

BARE_READER = """\
import sys, serial
port = serial.Serial(sys.argv[1], 115200)
print("open", flush=True)
while True:
    values = []
    for field in port.readline().split(b","):
        try:
            values.append(float(field))
        except ValueError:
            values.append(None)
"""
"""`readline()` and `float()` of pyserial, and nothing else: no CRC, no time-out, no record."""


class Wire:
    """A serial line whose device is at `path`."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self._ours, self.theirs = os.openpty()
        tty.setraw(self.theirs)
        os.set_blocking(self._ours, False)
        path.symlink_to(os.ttyname(self.theirs))

    def write(self, line: bytes) -> None:
        """Send a line; what the other end said is let go, so that it never fills the line."""
        if select.select([self._ours], [], [], 0.0)[0]:
            os.read(self._ours, 4096)
        os.write(self._ours, line)

    def close(self) -> None:
        """Take the line away."""
        self.path.unlink(missing_ok=True)
        os.close(self.theirs)
        os.close(self._ours)


def cpu_s(pid: int) -> float:
    """CPU time of a process' threads that still live, to the nanosecond."""
    tasks = Path(f"/proc/{pid}/task").glob("*/schedstat")
    return sum(int(task.read_text(encoding="ascii").split()[0]) for task in tasks) / 1e9
