"""Durations as people type them: 90s, 2m, 2m30s, 1h, 1h5m."""

from __future__ import annotations

import re

from firmware_host.errors import InputError

_PARTS = re.compile(r"(?:(\d+(?:\.\d+)?)h)?(?:(\d+(?:\.\d+)?)m)?(?:(\d+(?:\.\d+)?)s?)?")


def seconds_of(text: str) -> float:
    """Read a duration; raises InputError for anything else.

    >>> seconds_of("2m30s")
    150.0
    """
    match = _PARTS.fullmatch(text.strip().replace(" ", ""))
    if match is None or not any(match.groups()):
        raise InputError([f"{text!r} is no duration. Write it as 90s, 2m, 2m30s or 1h."])
    hours, minutes, seconds = (float(part) if part else 0.0 for part in match.groups())
    return hours * 3600.0 + minutes * 60.0 + seconds
