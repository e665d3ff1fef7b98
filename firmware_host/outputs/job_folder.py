"""Job folders: one per pour, named by date and part, never written over.

A folder holds `job.toml` byte for byte as poured, and the record. A folder whose job has not
ended is found again after a cut, by the text of its job description.
"""

from __future__ import annotations

import hashlib
import os
import re
import unicodedata
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from firmware_host.errors import RecordError
from firmware_host.outputs.record_reader import open_record
from firmware_host.outputs.record_schema import (
    FILE_MODE,
    JOB_NAME,
    RECORD_NAME,
    Source,
    sync_folder,
)

FOLDER_MODE = 0o750
LONGEST_SLUG = 40
_NAMELESS = "job"


@dataclass(frozen=True, slots=True, kw_only=True)
class OpenJob:
    """What a search for a job that was cut off brought up."""

    folder: Path | None
    """The folder to go on with; None where no such job is open."""
    problems: tuple[str, ...]
    """Folders of the same job description whose record cannot be read, in words to be shown."""


def job_sha256(job_text: bytes) -> str:
    """Fingerprint of a job description, as the record keeps it."""
    return hashlib.sha256(job_text).hexdigest()


def slug_of(part: str) -> str:
    """Spell a part's name for a folder: small letters, digits and hyphens.

    >>> slug_of("Kayak Hatch/Cover ö 1.2")
    'kayak-hatch-cover-o-1-2'
    >>> slug_of("../..")
    'job'
    """
    plain = unicodedata.normalize("NFKD", part.casefold())
    letters = "".join(letter for letter in plain if not unicodedata.combining(letter))
    slug = re.sub(r"[^a-z0-9]+", "-", letters).strip("-")
    return slug[:LONGEST_SLUG].rstrip("-") or _NAMELESS


def create_job_folder(base: Path, part: str, wall: datetime, job_text: bytes) -> Path:
    """Make the folder of a new job with its `job.toml`, both on the disk before this returns.

    Raises RecordError where the disk does not take it.
    """
    try:
        _make_synced(base)
        folder = _new_folder(base, f"{wall:%Y-%m-%d}-{slug_of(part)}")
        _write_synced(folder / JOB_NAME, job_text)
        sync_folder(folder)
        sync_folder(base)
    except OSError as error:
        raise RecordError(
            f"no job folder can be made in {base}: {error.strerror}. "
            "Check the disk, and [record] folder in the bench file."
        ) from error
    return folder


def job_folders(base: Path) -> Iterator[Path]:
    """Folders below `base` that hold a record, by name; none where `base` does not exist."""
    if base.is_dir():
        yield from sorted(path.parent for path in base.glob(f"*/{RECORD_NAME}"))


def find_open_job(base: Path, job_text: bytes) -> OpenJob:
    """Find the newest job that was poured from this very text and has not ended."""
    begun: list[tuple[datetime, Path]] = []
    problems = []
    for folder in job_folders(base):
        try:
            if (folder / JOB_NAME).read_bytes() != job_text:
                continue
            # Every page is looked at when the rows are judged again, while the ports are heard.
            with open_record(folder, frames_too=False) as record:
                if record.meta.source is Source.BENCH and not record.is_over:
                    begun.append((datetime.fromisoformat(record.meta.zero_wall), folder))
        except (OSError, ValueError) as error:  # RecordError is an OSError
            problems.append(str(error))
    return OpenJob(folder=max(begun)[1] if begun else None, problems=tuple(problems))


def _make_synced(base: Path) -> None:
    """Make a folder and those above it, each name on the disk: one that is lost takes all below."""
    missing = [place for place in (base, *base.parents) if not place.is_dir()]
    base.mkdir(mode=FOLDER_MODE, parents=True, exist_ok=True)
    for place in reversed(missing):
        sync_folder(place.parent)


def _new_folder(base: Path, stem: str) -> Path:
    number = 1
    while True:
        folder = base / f"{stem}-{number}"
        try:
            folder.mkdir(mode=FOLDER_MODE)
        except FileExistsError:
            number += 1
        else:
            return folder


def _write_synced(path: Path, text: bytes) -> None:
    handle = os.open(path, os.O_CREAT | os.O_EXCL | os.O_WRONLY, FILE_MODE)
    with os.fdopen(handle, "wb") as target:
        target.write(text)
        target.flush()
        os.fsync(target.fileno())
