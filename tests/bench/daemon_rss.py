"""What the daemon keeps in memory, beside an interpreter that only imports what it needs."""

from __future__ import annotations

import subprocess
import sys

import psutil

from tests.bench.feed import healthy
from tests.bench.figures import Found, Goal, Pair
from tests.bench.live import live

NAME = "daemon_rss"
GOAL = Goal(ratio=1.6)
WATCHED_S = 10.0
FULL_TURNS, SAMPLE_TURNS = 7, 2
IMPORTER = """\
import numpy, serial, paho.mqtt.client, sqlite3, tomllib, msgspec
print("here", flush=True)
input()
"""
MB = 1e6


def _importer_mb() -> float:
    with subprocess.Popen(
        [sys.executable, "-c", IMPORTER], stdin=subprocess.PIPE, stdout=subprocess.PIPE
    ) as child:
        assert child.stdout is not None
        assert child.stdout.readline() == b"here\n"
        held_mb = _rss_mb(child.pid)
        child.communicate(b"\n")
    return held_mb


def _rss_mb(pid: int) -> float:
    return float(psutil.Process(pid).memory_info().rss) / MB


def run(seed: int, *, full: bool) -> Found:
    """Start both anew for every pair."""
    pairs = []
    for turn in range(FULL_TURNS if full else SAMPLE_TURNS):
        with live(healthy(seed + turn, 9600.0)) as both:
            both.speak(WATCHED_S)
            pairs.append(Pair(ours=_rss_mb(both.daemon.pid), peer=_importer_mb()))
    return Found(
        name=NAME,
        ours=f"resident memory of the daemon after {WATCHED_S:g} s of 6 channels x 10 Hz, MB",
        peer="of an interpreter with numpy, serial, paho.mqtt.client, sqlite3, tomllib, msgspec",
        goal=GOAL,
        pairs=tuple(pairs),
    )
