"""Up to which event the broker has confirmed everything, in a small file of the job folder.

It may lag behind what was confirmed, never run ahead: after a cut some messages go out twice, none
is left out. Written whole or not at all.
"""

from __future__ import annotations

import os
from dataclasses import dataclass
from pathlib import Path

import msgspec

from firmware_host.outputs.record_schema import FILE_MODE

CURSOR_NAME = "phone.json"
_SCHEMA = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class Cursor:
    """How far a job was told."""

    event: int = 0
    """Number of the last event that is confirmed whole."""
    summed: int = 0
    """Number of the last event of which the phone was told as one of many."""


class _Held(msgspec.Struct, forbid_unknown_fields=True):
    schema: int
    bench: str
    event: int
    summed: int = 0


def read_cursor(folder: Path) -> Cursor | None:
    """Give how far the job was told; None where it never was.

    A file that makes no sense counts as 0: everything is said once more rather than lost.
    """
    try:
        held = _read(folder)
    except FileNotFoundError:
        return None
    except (OSError, ValueError):
        return Cursor()
    if held.schema != _SCHEMA:
        return Cursor()
    return Cursor(event=max(held.event, 0), summed=max(held.summed, 0))


def write_cursor(folder: Path, bench: str, cursor: Cursor) -> None:
    """Put the cursor in the file's place once it is on the disk.

    The new name itself is not waited for: without it the old one stands, which only lags. Raises
    OSError where the disk refuses.
    """
    path, beside = folder / CURSOR_NAME, folder / f"{CURSOR_NAME}.new"
    handle = os.open(beside, os.O_CREAT | os.O_TRUNC | os.O_WRONLY, FILE_MODE)
    with os.fdopen(handle, "wb") as target:
        held = _Held(schema=_SCHEMA, bench=bench, event=cursor.event, summed=cursor.summed)
        target.write(msgspec.json.encode(held) + b"\n")
        target.flush()
        os.fsync(target.fileno())
    beside.replace(path)


def last_told(base: Path, bench: str, *, but: Path) -> Path | None:
    """Find the job folder that this bench last spoke of, other than `but`."""
    told = [path for path in base.glob(f"*/{CURSOR_NAME}") if not path.parent.samefile(but)]
    for path in sorted(told, key=lambda path: path.stat().st_mtime, reverse=True):
        try:
            if _read(path.parent).bench == bench:
                return path.parent
        except (OSError, ValueError):
            continue
    return None


def _read(folder: Path) -> _Held:
    return msgspec.json.decode((folder / CURSOR_NAME).read_bytes(), type=_Held)
