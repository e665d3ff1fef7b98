"""A job's record from its making to its page, for the disk that loses its power.

Says in a file of its own, `said`, what it has promised: each line is a number of inputs that are
stored, 0 once the empty record is made, `end` once the page is in it. With `careless` nothing is
synced, so that the test can be seen to fail.
"""

from __future__ import annotations

import os
import sqlite3
import sys
from functools import partial
from pathlib import Path
from typing import Any

from firmware_host.clock import ManualClock
from firmware_host.outputs.attachment import attach_page
from firmware_host.outputs.record import RecordWriter
from firmware_host.outputs.record_schema import PAGE_NAME
from tests.outputs.record_parts import PATIENCE_S, closing_event, frame_at, make_folder, open_writer

SESSIONS, FRAMES, COMMIT_AFTER = 3, 120, 3
SAID = "said"


def write_job(disk: Path) -> None:
    """Make the record, write it in several runs of the daemon, attach a page."""
    said = os.open(disk / SAID, os.O_WRONLY | os.O_CREAT)
    folder = make_folder(disk / "jobs")
    say(said, "0")
    for session in range(SESSIONS):
        writer = open_writer(folder, ManualClock())
        for number in range(session * FRAMES + 1, (session + 1) * FRAMES + 1):
            put(writer, number, said)
        writer.close(PATIENCE_S)
    (folder / PAGE_NAME).write_bytes(b"<p>the page</p>" * 1000)
    attach_page(folder)
    say(said, "end")


def put(writer: RecordWriter, number: int, said: int) -> None:
    """Write one frame; now and then with an event, and wait for the disk."""
    events = [closing_event(number / 2)] if number % 50 == 0 else []
    writer.put(frame_at(number), events, on_stored=partial(say, said, str(number)))
    if number % COMMIT_AFTER == 0:
        writer.flush(PATIENCE_S)


def say(said: int, word: str) -> None:
    os.write(said, f"{word}\n".encode())


class Careless(sqlite3.Connection):
    """Forgets to sync."""

    def execute(self, sql: str, *given: Any) -> sqlite3.Cursor:  # noqa: ANN401 - as it comes
        return super().execute(sql.replace("synchronous=FULL", "synchronous=OFF"), *given)


if __name__ == "__main__":
    if sys.argv[1] == "careless":
        # Only in this process: whatever opens a file after this forgets to sync it.
        sqlite3.connect = partial(sqlite3.connect, factory=Careless)  # type: ignore[assignment]  # a partial of itself
    write_job(Path(sys.argv[-1]))
