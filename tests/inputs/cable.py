"""A pty pair behind a name that can be pointed elsewhere, like a board's by-id link."""

from __future__ import annotations

import os
import tty
from pathlib import Path

from tests.inputs.boards import sample

PERIOD_MS = 500


class Cable:
    """The board's end is ours; the host opens the name."""

    def __init__(self, name: Path) -> None:
        self.name = name
        self.board = -1
        self.seq = 0

    def plug(self) -> None:
        """Make a new pair and point the name at it; an old pair stays open."""
        self.board, host = os.openpty()
        tty.setraw(host)
        self.name.unlink(missing_ok=True)
        self.name.symlink_to(os.ttyname(host))
        os.close(host)

    def say(self, line: bytes | None = None) -> None:
        """Send a line; the next sample when none is given."""
        if line is None:
            self.seq += 1
            line = sample(self.seq, PERIOD_MS * self.seq)
        os.write(self.board, line)

    def unplug(self) -> None:
        """Pull it out: the name is gone and the host's end breaks."""
        self.name.unlink()
        self.close()

    def close(self) -> None:
        """Give the board's end back."""
        if self.board >= 0:
            os.close(self.board)
            self.board = -1
