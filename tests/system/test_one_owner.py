"""One socket, one job folder and one port have one daemon; a second leaves and names the first."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from firmware_host.clock import SystemClock
from tests.inputs.boards import hello
from tests.inputs.cable import Cable
from tests.system.room import Child, Room
from tests.waiting import until

LEAVES_WITHIN_S = 3.0
"""A second is meant; most of it is the interpreter's start, which a busy machine stretches."""
LEAVES_WITHIN_BARE_STARTS = 8.0
"""On a machine that is very busy: so many starts of an interpreter with its array library."""


@pytest.fixture
def first(room: Room) -> Child:
    room.write_bench()
    cable = Cable(room.device)
    cable.plug()
    daemon = room.watch()
    room.job_folder(daemon)
    cable.say(hello())

    def is_up() -> bool:
        cable.say()
        now = room.look()
        return now is not None and now.links[0].up

    until(is_up)
    return daemon


def told_to_go(room: Room, bench: Path) -> str:
    """Start a second daemon that must leave at once with "try again later"; what it says."""
    clock = SystemClock()
    bare_s = clock.monotonic_s()
    subprocess.run([sys.executable, "-c", "import numpy, sqlite3, ssl"], check=True)
    begun_s = clock.monotonic_s()
    bare_s = begun_s - bare_s
    second = room.watch("--bench", bench)
    assert second.wait(30.0) == 3, second.err
    left_s = clock.monotonic_s() - begun_s
    assert left_s < max(LEAVES_WITHIN_S, LEAVES_WITHIN_BARE_STARTS * bare_s)
    assert "Traceback" not in second.err
    assert second.out == ""
    return second.err


def test_a_second_daemon_on_the_same_socket_names_the_first(room: Room, first: Child) -> None:
    said = told_to_go(room, room.bench)
    assert f"another bagvigil (process {first.pid}) already answers at {room.socket}" in said
    assert first.is_alive


def test_a_second_daemon_on_the_same_job_names_the_first(room: Room, first: Child) -> None:
    other = room.write_bench(
        path=room.folder / "other.toml", socket="other.sock", device=room.folder / "absent"
    )
    said = told_to_go(room, other)
    assert f"is being written by process {first.pid}" in said
    assert first.is_alive


def test_a_second_daemon_on_the_same_port_names_the_first(room: Room, first: Child) -> None:
    other = room.write_bench(
        path=room.folder / "other.toml", socket="other.sock", folder="other-jobs"
    )
    said = told_to_go(room, other)
    assert f"{room.device} is held by python" in said
    assert f"(process {first.pid})" in said
    assert not (room.folder / "other-jobs").exists()
    assert first.is_alive
