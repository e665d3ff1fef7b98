"""The seal on a job folder that nobody writes: SHA-256 of every file, and what is what.

`manifest.sha256` has the form that `sha256sum --check` reads, so that any changed bit of a finished
folder is found without this program too. Whoever is about to write takes the seal off first, on the
disk, and puts a new one on at the end: a folder that was cut off has none, and that is no change.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from pathlib import Path

from firmware_host.errors import RecordError
from firmware_host.outputs.record_schema import (
    JOB_NAME,
    PAGE_NAME,
    RECORD_NAME,
    sync_folder,
)
from firmware_host.outputs.whole_file import write_whole

MANIFEST_NAME = "manifest.sha256"
README_NAME = "README.txt"
_SEALED = (JOB_NAME, README_NAME, RECORD_NAME, PAGE_NAME)
_CHUNK_BYTES = 1 << 20
README = """\
One vacuum-bagged lay-up, as it was watched.

job.toml         what was to be laid up, as poured
record.sqlite    every reading, mark and alarm; opens with any SQLite tool
                 frame_N: n counts all inputs; t_ms is time since the job's zero in ms; pressures
                 in tenths of Pa (..._dpa), temperatures in mK (..._mk); NULL is "no reading",
                 `missing` has a letter for each channel's reason; raw is the board's own word;
                 crc goes on from the row before
                 input: marks, links, gaps and what else was judged; event: what was said to it
                 head: SHA-256 over all rows up to there, each block from the one before
                 session, wall_clock: each run of the watch, and how its clock stood to the date
report.html      the page for people, where one was made
manifest.sha256  the SHA-256 of these files; `sha256sum --check manifest.sha256` holds them to it

`bagvigil verify` names what was changed, `bagvigil replay` judges it all again, `bagvigil export`
makes a table of it, `bagvigil salvage` saves what is sound in a damaged record.
"""


def seal(folder: Path) -> None:
    """Write the text and the manifest. Raises RecordError where the disk does not take them."""
    write_whole(folder / README_NAME, README.encode())
    held = (name for name in _SEALED if (folder / name).is_file())
    try:
        lines = [f"{_sha256(folder / name)}  {name}\n" for name in held]
        write_whole(folder / MANIFEST_NAME, "".join(lines).encode())
        sync_folder(folder)
    except OSError as error:
        raise RecordError(f"{folder} cannot be sealed: {error.strerror or error}.") from error


def unseal(folder: Path) -> bool:
    """Take the manifest away before something is written; False where there was none."""
    try:
        (folder / MANIFEST_NAME).unlink()
        sync_folder(folder)
    except FileNotFoundError:
        return False
    except OSError as error:
        raise RecordError(f"{folder} cannot be written to: {error.strerror}.") from error
    return True


def broken_seals(folder: Path) -> Iterator[str]:
    """Name every file that is not what was sealed; none where there is no manifest."""
    manifest = folder / MANIFEST_NAME
    if not manifest.is_file():
        return
    *lines, rest = manifest.read_bytes().decode("utf-8", "replace").split("\n")
    for line in [*lines, rest] if rest else lines:
        digest, _, name = line.partition("  ")
        if name not in _SEALED:
            yield f"{manifest}: the line {line[:80]!r} was changed"
        elif not (folder / name).is_file():
            yield f"{folder / name} was taken away"
        elif _sha256(folder / name) != digest:
            yield f"{folder / name} is not, bit for bit, what was sealed in {MANIFEST_NAME}"


def _sha256(path: Path) -> str:
    digest = hashlib.sha256()
    with path.open("rb") as source:
        while chunk := source.read(_CHUNK_BYTES):
            digest.update(chunk)
    return digest.hexdigest()
