"""The record's tables, what the record says about itself, and how its file is made.

One job, one file. Rows are only added; the one cell group that changes is a session's end.
Inputs are numbered 1, 2, 3, ... over all their tables: a frame stands in the table of its group,
everything else in `input`, and sorting by `n` gives the order in which the core saw them.
"""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass
from datetime import date, datetime
from enum import StrEnum
from pathlib import Path

import msgspec

from firmware_host.clock import Clock, boot_id
from firmware_host.errors import RecordError
from firmware_host.history.prior import RatePrior
from firmware_host.model.samples import Group
from firmware_host.outputs.record_rows import Cells, checked, column_of, row_check

RECORD_NAME = "record.sqlite"
JOB_NAME = "job.toml"
PAGE_NAME = "report.html"
APPLICATION_ID = 0x42616776
"""'Bagv' in the file's header: tells our record from any other SQLite file."""
SCHEMA = 1
FILE_MODE = 0o640

META_TABLES = ("meta", "meta_copy")
"""Twice, each on pages of its own: without it nobody knows what the rows are of."""
_FIXED_TABLES = """
CREATE TABLE meta(key TEXT PRIMARY KEY, value TEXT NOT NULL, crc INTEGER NOT NULL)
    STRICT, WITHOUT ROWID;
CREATE TABLE meta_copy(key TEXT PRIMARY KEY, value TEXT NOT NULL, crc INTEGER NOT NULL)
    STRICT, WITHOUT ROWID;
CREATE TABLE input(n INTEGER PRIMARY KEY, kind TEXT NOT NULL, body TEXT NOT NULL,
    crc INTEGER NOT NULL) STRICT;
CREATE TABLE event(n INTEGER PRIMARY KEY, after_input INTEGER NOT NULL, kind TEXT NOT NULL,
    body TEXT NOT NULL, crc INTEGER NOT NULL) STRICT;
CREATE TABLE session(n INTEGER PRIMARY KEY, boot_id TEXT NOT NULL, version TEXT NOT NULL,
    pid INTEGER NOT NULL, zero_mono_s REAL NOT NULL, after_input INTEGER NOT NULL,
    started TEXT NOT NULL, ended TEXT, inputs INTEGER, events INTEGER,
    crc INTEGER NOT NULL) STRICT;
CREATE TABLE wall_clock(n INTEGER PRIMARY KEY, session INTEGER NOT NULL, mono_s REAL NOT NULL,
    wall TEXT NOT NULL, crc INTEGER NOT NULL) STRICT;
CREATE TABLE lost(n INTEGER PRIMARY KEY, inputs INTEGER NOT NULL, crc INTEGER NOT NULL) STRICT;
CREATE TABLE head(n INTEGER PRIMARY KEY, inputs INTEGER NOT NULL, events INTEGER NOT NULL,
    sha256 TEXT NOT NULL, crc INTEGER NOT NULL) STRICT;
"""
_NO_TEXT = "a text in it is none any more"
_FRAME_COLUMNS = ("missing", "raw", "late_ms", "crc")


def date_of(zero_wall: str) -> date | None:
    """Give the day of a job's zero; None where it is not known.

    >>> date_of("2026-03-01T08:00:00+01:00")
    datetime.date(2026, 3, 1)
    """
    return datetime.fromisoformat(zero_wall).date() if zero_wall else None


class Source(StrEnum):
    """Where a record's inputs come from."""

    BENCH = "bench"
    """Watched as it happened; a job that was cut off is gone on with."""
    LOG = "log"
    """Replayed; never gone on with."""
    SALVAGE = "salvage"
    """What was sound in a damaged record; never gone on with."""


@dataclass(frozen=True, slots=True, kw_only=True)
class RecordMeta:
    """What a record says about itself; written once, when it is made."""

    schema: int = SCHEMA
    source: Source = Source.BENCH
    version: str
    """Version of the program that made it."""
    part: str
    zero_wall: str
    """Date and time of the job's zero, RFC 3339 with offset; empty where a log does not tell."""
    zone: str
    boot_id: str
    zero_mono_s: float
    """Monotonic reading at the job's zero; compares only within this boot."""
    clock_rate: float
    """1 unless a demo ran faster than the world."""
    bench_text: str
    job_sha256: str
    """Of job.toml, byte for byte."""
    groups: tuple[Group, ...]
    plan_sheet: str = ""
    """The batch sheet as it stood; empty where nobody measured the conditions."""
    learnt: RatePrior | None = None
    """What this shop knew of its resin; the core started from it, and so does a replay."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Session:
    """One run of the daemon over this job."""

    n: int
    boot_id: str
    version: str
    pid: int
    zero_mono_s: float
    """Monotonic reading, in this session's boot, that is the job's zero."""
    after_input: int
    """Inputs that stood in the record before."""
    started: str
    ended: str | None = None
    """None: the session runs, or was cut off."""
    inputs: int | None = None
    events: int | None = None
    """Rows in the record at the clean end; fewer today means that some were taken away."""

    @property
    def clean(self) -> bool:
        """Whether it was ended on purpose."""
        return self.ended is not None

    def cells(self) -> Cells:
        """Lay the row out in the order of the table."""
        return (
            *(self.n, self.boot_id, self.version, self.pid, self.zero_mono_s),
            *(self.after_input, self.started, self.ended, self.inputs, self.events),
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class WallClock:
    """The wall clock against the monotonic one, noted at each start and whenever it was set."""

    n: int
    session: int
    mono_s: float
    wall: str


def describe(
    clock: Clock,
    *,
    source: Source = Source.BENCH,
    version: str,
    part: str,
    bench_text: str,
    job_sha256: str,
    groups: tuple[Group, ...],
    plan_sheet: str = "",
    learnt: RatePrior | None = None,
) -> RecordMeta:
    """Say what a record that begins now says about itself: the job's zero is this moment."""
    wall = clock.wall()
    return RecordMeta(
        source=source,
        version=version,
        part=part,
        zero_wall=wall.isoformat(timespec="milliseconds"),
        zone=wall.tzname() or "",
        boot_id=boot_id(),
        zero_mono_s=clock.monotonic_s(),
        clock_rate=clock.rate,
        bench_text=bench_text,
        job_sha256=job_sha256,
        groups=groups,
        plan_sheet=plan_sheet,
        learnt=learnt,
    )


def frame_columns(group: Group) -> tuple[str, ...]:
    """Columns of a group's table, in the order of `FrameRows.encode` with the check last."""
    names = tuple(column_of(channel) for channel in group.channels)
    if len(set(names)) != len(names):
        raise ValueError(f"group {group.name} names a channel twice: {', '.join(names)}")
    return ("n", "t_ms", *names, *_FRAME_COLUMNS)


def create_record(folder: Path, meta: RecordMeta) -> Path:
    """Make an empty record in the job folder; on the disk with its name before this returns."""
    path = folder / RECORD_NAME
    tables = [_frame_table(number, group) for number, group in enumerate(meta.groups)]
    try:
        os.close(os.open(path, os.O_CREAT | os.O_EXCL | os.O_WRONLY, FILE_MODE))
        with closing(sqlite3.connect(path, isolation_level=None)) as connection:
            connection.execute("PRAGMA synchronous=FULL")
            connection.executescript("BEGIN IMMEDIATE;" + _FIXED_TABLES + "".join(tables))
            _write_meta(connection, meta)
            connection.execute(f"PRAGMA application_id={APPLICATION_ID}")
            connection.execute(f"PRAGMA user_version={SCHEMA}")
            connection.execute("COMMIT")
        sync_folder(folder)
    except FileExistsError:
        raise RecordError(f"{path} exists already; a record is never written over") from None
    except (OSError, sqlite3.Error) as error:
        raise RecordError(f"{path} cannot be made: {error}. Check the disk.") from error
    return path


def _frame_table(number: int, group: Group) -> str:
    channels = "".join(f"{name} INTEGER, " for name in frame_columns(group)[2:-4])
    return (
        f"CREATE TABLE frame_{number}(n INTEGER PRIMARY KEY, t_ms INTEGER NOT NULL, {channels}"
        "missing TEXT, raw ANY, late_ms INTEGER, crc INTEGER NOT NULL) STRICT;\n"
    )


def _write_meta(connection: sqlite3.Connection, meta: RecordMeta) -> None:
    for key, value in msgspec.to_builtins(meta).items():
        cells: Cells = (key, msgspec.json.encode(value).decode())
        for table in META_TABLES:
            connection.execute(f"INSERT {into(table, 3)}", checked(table, cells))


def sync_folder(folder: Path) -> None:
    """Force a folder's list of names to the disk: a synced file without a name is lost."""
    handle = os.open(folder, os.O_RDONLY | os.O_DIRECTORY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def read_meta(connection: sqlite3.Connection, path: Path) -> RecordMeta:
    """Make sure that this is a record of ours that can be read, and say whose."""
    with reading(path):
        ours = connection.execute("PRAGMA application_id").fetchone()[0]
        schema = connection.execute("PRAGMA user_version").fetchone()[0]
        if ours != APPLICATION_ID:
            raise RecordError(f"{path} is an SQLite file, but no record of Bag Vigil")
        if schema > SCHEMA:
            raise RecordError(
                f"{path} has schema {schema}, this program reads up to {SCHEMA}. "
                "Update the program; the record stays as it is."
            )
        rows = connection.execute("SELECT key, value, crc FROM meta").fetchall()
    for *cells, crc in rows:
        if row_check("meta", tuple(cells)) != crc:
            raise damaged(path, f"its entry {cells[0]!r} was changed")
    try:
        held = {key: msgspec.json.decode(value) for key, value, _ in rows}
        return msgspec.convert(held, RecordMeta)
    except (ValueError, msgspec.DecodeError) as error:
        raise damaged(path, str(error)) from error


def damaged(path: Path, what: str) -> RecordError:
    """Word the refusal of a damaged record."""
    return RecordError(
        f"{path} is damaged: {what}. Keep the file, copy the folder before anything else, and "
        f"run `bagvigil verify {path.parent}`."
    )


@contextmanager
def reading(path: Path) -> Iterator[None]:
    """Turn what SQLite says about a file that it cannot read into our words."""
    try:
        yield
    except sqlite3.Error as error:
        name = getattr(error, "sqlite_errorname", "")
        if name == "SQLITE_NOTADB":
            raise RecordError(f"{path} is no SQLite file, so it is no record.") from error
        if "decode to UTF-8" in str(error):  # SQLite itself does not look at a text's bytes
            raise damaged(path, _NO_TEXT) from error
        # SQLITE_ERROR: a table of ours is not there.
        if name == "SQLITE_ERROR" or not isinstance(error, sqlite3.OperationalError):
            raise damaged(path, str(error)) from error
        raise RecordError(f"{path} cannot be read: {error}. Check the disk and rights.") from error
    except UnicodeDecodeError as error:  # the same, where even the complaint cannot be spelt
        raise damaged(path, _NO_TEXT) from error


def into(table: str, size: int) -> str:
    """Word the target of a whole row of `size` cells, the check among them."""
    return f"INTO {table} VALUES({', '.join('?' * size)})"
