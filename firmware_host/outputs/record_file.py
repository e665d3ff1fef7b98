"""The record's file, open for writing: batches of rows, each on the disk before the call returns.

Belongs to the writer's thread alone. Write-ahead log with every commit synced, so that a cut of
power costs what was not yet confirmed and nothing else. After an error the file is opened anew at
the next try.
"""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Iterable, Sequence
from contextlib import closing, suppress
from functools import cache
from itertools import groupby
from operator import itemgetter
from pathlib import Path

from firmware_host.errors import RecordError
from firmware_host.outputs.record_rows import Cells, TableRow, checked
from firmware_host.outputs.record_schema import Session, into

MOST_AT_ONCE = 32
"""Rows that go by one statement: a second of frames does, for a fifth less than row by row."""
LOCKED_TIMEOUT_S = 1.0
"""Real time; a locked file is an error that is said and tried again."""


def finish_cut_write(path: Path) -> None:
    """Let SQLite take back a write that a cut of power left half done.

    Such a write leaves a journal beside the file, and whoever may only read is refused until it is
    dealt with. A journal in use is held by a lock, and then nothing happens here.
    """
    if not path.with_name(f"{path.name}-journal").exists():
        return
    with suppress(sqlite3.Error):  # the reader that comes next says what is wrong
        uri = f"{path.absolute().as_uri()}?mode=rw"
        with closing(sqlite3.connect(uri, uri=True, timeout=LOCKED_TIMEOUT_S)) as connection:
            connection.execute("PRAGMA synchronous=FULL")
            connection.execute("SELECT count(*) FROM sqlite_schema").fetchone()


class RecordFile:
    """A record that exists, opened at the first write."""

    def __init__(self, path: Path) -> None:
        self._path = path
        self._name = str(path)
        held = path.stat()
        self._identity = held.st_ino, held.st_dev
        self._connection: sqlite3.Connection | None = None
        self._in_doubt = False

    def write(self, rows: Iterable[TableRow]) -> None:
        """Commit the rows together. After any error the caller gives the same rows again."""
        try:
            connection = self._open()
            # A commit that failed in its last step may be found on the disk all the same.
            verb = "INSERT OR IGNORE" if self._in_doubt else "INSERT"
            runs = [
                (table, [row for _, row in run]) for table, run in groupby(rows, key=itemgetter(0))
            ]
            if len(runs) == 1 and len(runs[0][1]) <= MOST_AT_ONCE:
                _insert_at_once(connection, verb, *runs[0])
            else:
                connection.execute("BEGIN IMMEDIATE")
                for table, cells in runs:
                    connection.executemany(_statement(verb, table, len(cells[0])), cells)
                connection.execute("COMMIT")
        except Exception:
            self._back_out()
            raise
        self._in_doubt = False

    def end(self, session: Session) -> None:
        """Commit the session's end, then leave one file behind, if no reader holds it open."""
        cells = checked("session", session.cells())
        try:
            connection = self._open()
            connection.execute(f"REPLACE {into('session', len(cells))}", cells)
        except Exception:
            self._back_out()
            raise
        self.leave_one_file()

    def leave_one_file(self) -> None:
        """Take the log into the file, if no reader holds it open."""
        with suppress(sqlite3.Error):  # all is synced; tidying up may be left undone
            connection = self._open()
            connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
            connection.execute("PRAGMA journal_mode=DELETE")
        self.close()

    def close(self) -> None:
        """Let go of the file."""
        if self._connection is not None:
            with suppress(sqlite3.Error):
                self._connection.close()
        self._connection = None

    def _open(self) -> sqlite3.Connection:
        self._make_sure_it_is_there()
        if self._connection is None:
            connection = sqlite3.connect(
                f"{self._path.absolute().as_uri()}?mode=rw",
                uri=True,
                isolation_level=None,
                timeout=LOCKED_TIMEOUT_S,
            )
            self._connection = connection
            connection.execute("PRAGMA synchronous=FULL")
            mode = connection.execute("PRAGMA journal_mode=WAL").fetchone()[0]
            if mode != "wal":
                raise sqlite3.OperationalError(f"write-ahead log refused, journal is {mode}")
        return self._connection

    def _make_sure_it_is_there(self) -> None:
        # A file that was moved away still takes every write, and nobody would find them again.
        now = os.stat(self._name)  # noqa: PTH116 - asked at each commit; a Path takes twice as long
        if (now.st_ino, now.st_dev) != self._identity:
            raise RecordError(f"{self._path} was replaced while it was being written")

    def _back_out(self) -> None:
        self._in_doubt = True
        if self._connection is not None:
            with suppress(sqlite3.Error):
                self._connection.rollback()
        self.close()


def _insert_at_once(
    connection: sqlite3.Connection, verb: str, table: str, cells: Sequence[Cells]
) -> None:
    """Commit rows of one table by a single statement, which is a transaction of its own."""
    statement = _statement(verb, table, len(cells[0]), len(cells))
    connection.execute(statement, [cell for row in cells for cell in row])


@cache
def _statement(verb: str, table: str, size: int, rows: int = 1) -> str:
    more = f", ({', '.join('?' * size)})" * (rows - 1)
    return f"{verb} {into(table, size)}{more}"
