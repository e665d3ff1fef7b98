"""Past jobs for learning and lists: read once from each folder, then kept in `history.jsonl`.

The file beside the job folders is a cache, one line a folder, and nothing else: delete it and it is
made again. A folder whose record has changed since is read again; one that was deleted counts no
more. Whatever cannot be read is named and left out.
"""

from __future__ import annotations

import os
from dataclasses import dataclass
from pathlib import Path

import msgspec

from firmware_host.errors import MonitorError
from firmware_host.history.outcomes import Outcome

LEDGER_NAME = "history.jsonl"
_RECORD_NAME = "record.sqlite"
SCHEMA = 1
READINGS = 400
"""Temperatures taken from a job between pour and gel; more would not change their mean."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """One folder's line."""

    schema: int = SCHEMA
    folder: str
    stamp: str
    """Size and time of the record as it was read."""
    outcomes: tuple[Outcome, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class PastJobs:
    """What the folders hold."""

    outcomes: tuple[Outcome, ...]
    problems: tuple[str, ...]
    """Folders that cannot be read, in words to be shown."""


def past_jobs(base: Path) -> PastJobs:
    """Read every job folder below `base`; none where it does not exist."""
    known = _ledger(base / LEDGER_NAME)
    stamps = stamps_of(base)
    problems = []
    fresh = []
    for folder, stamp in stamps.items():
        if folder in known and known[folder].stamp == stamp:
            continue
        try:
            entry = Entry(folder=folder, stamp=stamp, outcomes=_read(base / folder))
        except MonitorError as error:
            problems.append(str(error))
            continue
        known[folder] = entry
        fresh.append(entry)
    _keep(base / LEDGER_NAME, fresh)
    found = [one for folder in stamps if folder in known for one in known[folder].outcomes]
    return PastJobs(outcomes=tuple(found), problems=tuple(problems))


def keep_outcomes(folder: Path) -> None:
    """Read one folder that has just ended, so that the next watch knows of it without `plan`.

    Raises RecordError for a folder that cannot be read.
    """
    stamp = stamps_of(folder.parent).get(folder.name)
    if stamp is not None:
        entry = Entry(folder=folder.name, stamp=stamp, outcomes=_read(folder))
        _keep(folder.parent / LEDGER_NAME, [entry])


def kept_outcomes(base: Path) -> tuple[Outcome, ...]:
    """Give what was read before, of folders that are still there; opens no record."""
    known = _ledger(base / LEDGER_NAME)
    return tuple(
        one for folder in stamps_of(base) if folder in known for one in known[folder].outcomes
    )


def stamps_of(base: Path) -> dict[str, str]:
    """Give folders with a record by name, each with size and time of the record."""
    if not base.is_dir():
        return {}
    stamps = {}
    try:
        found = sorted(os.scandir(base), key=lambda one: one.name)
    except OSError:
        return {}
    for folder in found:
        try:
            seen = os.stat(os.path.join(folder.path, _RECORD_NAME))  # noqa: PTH116, PTH118 - a thousand folders: a Path each costs more than the look
        except OSError:
            continue
        stamps[folder.name] = f"{seen.st_size}:{seen.st_mtime_ns}"
    return stamps


def _ledger(path: Path) -> dict[str, Entry]:
    """Lines that can be read; a later one replaces an earlier one."""
    try:
        lines = path.read_bytes().splitlines()
    except OSError:
        return {}
    decode = msgspec.json.Decoder(Entry).decode
    entries = {}
    for line in lines:
        try:
            entry = decode(line)
        except (msgspec.DecodeError, UnicodeDecodeError):
            continue
        if entry.schema == SCHEMA:
            entries[entry.folder] = entry
    return entries


def _keep(path: Path, fresh: list[Entry]) -> None:
    """Add lines; a disk that does not take them costs time the next day, nothing else."""
    if not fresh:
        return
    text = b"".join(msgspec.json.encode(entry) + b"\n" for entry in fresh)
    try:
        handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_APPEND | os.O_NOFOLLOW, 0o640)
    except OSError:
        return
    with os.fdopen(handle, "ab") as ledger:
        ledger.write(text)


def _read(folder: Path) -> tuple[Outcome, ...]:
    # Loaded only when there is a folder to read: a plan must not wait for SQL it does not need.
    from firmware_host.outputs.past_record import read_outcomes

    return read_outcomes(folder, READINGS)
