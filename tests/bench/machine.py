"""Which machine a figure was found on, and when."""

from __future__ import annotations

import os
import platform
import sqlite3
from pathlib import Path

from firmware_host.clock import SystemClock
from firmware_host.version import VERSION


def fingerprint(seed: int, *, full: bool) -> str:
    """Say in a few lines what a reader must know before comparing."""
    size = "full" if full else "sample"
    return "\n".join(
        [
            f"date {SystemClock().wall():%Y-%m-%d}, seed {seed}, {size}, bagvigil {VERSION}",
            f"{_cpu()}, {os.cpu_count()} cores, load {os.getloadavg()[0]:.1f} at the end",
            f"Python {platform.python_version()}, SQLite {sqlite3.sqlite_version}, "
            f"{platform.system()} {platform.release()} {platform.machine()}",
        ]
    )


def _cpu() -> str:
    """Name the processor; boards call the line by another name than desktops."""
    lines = Path("/proc/cpuinfo").read_text(encoding="utf-8").splitlines()
    named = (line.partition(":") for line in lines)
    known = {key.strip(): value.strip() for key, _, value in named}
    return known.get("model name") or known.get("Model") or "unknown processor"
