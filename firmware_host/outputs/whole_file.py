"""Files that are written whole or not at all: a reader never finds half of one."""

from __future__ import annotations

import os
from pathlib import Path

from firmware_host.errors import RecordError

_MODE = 0o640


def write_whole(path: Path, content: bytes) -> None:
    """Write beside the file, force it to the disk, then put it in the file's place.

    Raises RecordError where the disk does not take it; whatever stood there still stands.
    """
    # Two writers at a time must not share a part: the one who is last then simply wins.
    part = path.with_name(f".{path.name}.{os.getpid()}.part")
    try:
        handle = os.open(part, os.O_CREAT | os.O_WRONLY | os.O_TRUNC | os.O_NOFOLLOW, _MODE)
        with os.fdopen(handle, "wb") as target:
            target.write(content)
            target.flush()
            os.fsync(target.fileno())
        part.replace(path)
    except OSError as error:
        raise RecordError(
            f"{path} cannot be written: {error.strerror}. Check the disk and rights."
        ) from error
    finally:
        part.unlink(missing_ok=True)
