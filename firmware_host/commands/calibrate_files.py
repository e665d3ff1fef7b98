"""How a calibration changes a file: shown first, written only when asked, the old one kept.

Beside the file stands its log, `NAME.calibration.json`: as found, as left, date, by whom.
"""

from __future__ import annotations

import difflib
import json
import os
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

from firmware_host.commands.voice import plain, tell
from firmware_host.config.edit import with_keys
from firmware_host.config.toml_text import KeyPath, read_text
from firmware_host.errors import InputError, RecordError
from firmware_host.outputs.whole_file import write_whole


@dataclass(frozen=True, slots=True, kw_only=True)
class Signature:
    """Who did it, and when."""

    by: str
    date: datetime


def read_log(path: Path) -> list[dict[str, Any]]:
    """Read every entry of a file's log, the oldest first; none where there is no log."""
    place = _log(path)
    if not place.exists():
        return []
    try:
        entries = json.loads(read_text(place))["entries"]
        return [dict(entry) for entry in entries]
    except (ValueError, KeyError, TypeError) as error:
        text = f"{place} is no log of calibrations ({error}). Move it away and try again."
        raise InputError([text]) from error


def note(path: Path, signature: Signature, entry: Mapping[str, object]) -> None:
    """Add an entry to the file's log."""
    signed = {
        "date": signature.date.isoformat(timespec="seconds"),
        "by": signature.by,
        **entry,
    }
    content = json.dumps({"schema": 1, "entries": [*read_log(path), signed]}, indent=1)
    write_whole(_log(path), content.encode())


def change(
    path: Path,
    table: KeyPath,
    keys: Mapping[str, object],
    signature: Signature,
    found: Mapping[str, object],
    *,
    check: Callable[[str, str], object],
    write: bool,
) -> None:
    """Show what would change; with `write` keep the old file, write the new one and note it.

    `check` reads text and name as the daemon will, and raises InputError for what it would refuse.
    """
    old = read_text(path)
    new = with_keys(old, str(path), table, keys)
    check(new, str(path))
    for line in difflib.unified_diff(
        old.splitlines(), new.splitlines(), str(path), f"{path} as left", lineterm="", n=1
    ):
        tell(plain(line))
    if not write:
        tell("Nothing was written. Run the same with --write to take it over.")
        return
    kept = path.with_name(f"{path.stem}.{signature.date:%Y%m%d-%H%M%S}{path.suffix}")
    _keep(path, kept)
    write_whole(path, new.encode())
    note(path, signature, {"what": "changed", "table": list(table), **found, "left": _plain(keys)})
    tell(f"{path} is written; the old one is {kept.name}.")


def _plain(keys: Mapping[str, object]) -> dict[str, object]:
    return {
        key: value if isinstance(value, int | float | str) else str(value)
        for key, value in keys.items()
    }


def _keep(path: Path, kept: Path) -> None:
    try:
        os.link(path, kept)
    except OSError as error:
        text = f"{kept} cannot be made ({error.strerror}); nothing was written. Check the disk."
        raise RecordError(text) from error


def _log(path: Path) -> Path:
    return path.with_suffix(".calibration.json")
