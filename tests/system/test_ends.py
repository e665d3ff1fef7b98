"""How the daemon ends, and what it tells the service manager while it lives."""

from __future__ import annotations

import signal
import socket
from collections.abc import Iterator
from pathlib import Path

import pytest

from firmware_host.clock import SystemClock
from firmware_host.outputs.record_reader import open_record
from tests.inputs.boards import hello
from tests.inputs.cable import Cable
from tests.system.room import Child, Room
from tests.waiting import until

CLOCK = SystemClock()
FED_EVERY_S = 2.5
"""Ticks come once a second when nothing else does; each is stored within another."""


@pytest.fixture
def cable(room: Room) -> Iterator[Cable]:
    made = Cable(room.device)
    made.plug()
    yield made
    made.close()


def has_stored(room: Room, cable: Cable, more_than: int = 2) -> bool:
    """Let the board speak; whether that many samples are on the disk."""
    cable.say()
    now = room.look()
    return now is not None and now.stored_rows > more_than


def started(room: Room, cable: Cable) -> tuple[Child, Path]:
    room.write_bench()
    daemon = room.watch()
    folder = room.job_folder(daemon)
    cable.say(hello())
    until(lambda: has_stored(room, cable))
    return daemon, folder


@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGINT])
def test_a_signal_ends_it_cleanly(room: Room, cable: Cable, number: signal.Signals) -> None:
    daemon, folder = started(room, cable)
    daemon.signal(number)
    assert daemon.wait(5.0) == 0
    assert daemon.err.count("\n") == 1, daemon.err  # the board's hello, and nothing of the end
    assert {path.name for path in folder.iterdir()} == {
        *("job.toml", "record.sqlite", "README.txt", "manifest.sha256")
    }
    assert not room.socket.exists()
    with open_record(folder) as record:
        (session,) = record.sessions()
        assert session.ended is not None
        assert session.inputs == record.input_count


def test_a_storm_of_signals_changes_nothing(room: Room, cable: Cable) -> None:
    daemon, folder = started(room, cable)
    for _ in range(200):
        if daemon.is_alive:
            daemon.signal(signal.SIGTERM)
            daemon.signal(signal.SIGINT)
    assert daemon.wait(10.0) == 0
    assert room.command("verify", folder).returncode == 0


class Manager:
    """The service manager's end of the line."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self.words: list[str] = []
        self._socket = socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM)
        self._socket.bind(str(path))
        self._socket.settimeout(0.05)

    def hear(self, for_s: float) -> list[str]:
        """Take what comes within this time."""
        end_s = CLOCK.monotonic_s() + for_s
        heard = []
        while CLOCK.monotonic_s() < end_s:
            try:
                heard.append(self._socket.recv(4096).decode())
            except TimeoutError:
                continue
        self.words += heard
        return heard

    def waits_for(self, word: str, within_s: float = 10.0) -> bool:
        """Whether the word comes in time; what came before it counts as heard."""
        end_s = CLOCK.monotonic_s() + within_s
        while CLOCK.monotonic_s() < end_s:
            if word in self.hear(0.1):
                return True
        return False

    def close(self) -> None:
        self._socket.close()


@pytest.fixture
def manager(tmp_path: Path) -> Iterator[Manager]:
    made = Manager(tmp_path / "n.sock")
    yield made
    made.close()


def test_the_watchdog_is_fed_while_it_works_and_starves_when_it_is_frozen(
    room: Room, manager: Manager
) -> None:
    room.write_bench(ports=False)
    daemon = room.watch(environment={"NOTIFY_SOCKET": str(manager.path)})
    room.job_folder(daemon)
    assert manager.waits_for("READY=1")
    assert manager.waits_for("WATCHDOG=1", FED_EVERY_S)
    assert manager.waits_for("WATCHDOG=1", FED_EVERY_S)
    daemon.signal(signal.SIGSTOP)
    manager.hear(0.2)  # what was on its way
    assert manager.hear(FED_EVERY_S) == []
    daemon.signal(signal.SIGCONT)
    assert manager.waits_for("WATCHDOG=1", FED_EVERY_S)
    assert daemon.stop() == 0
    assert "STOPPING=1" in manager.hear(0.2)
    assert manager.words.index("READY=1") < manager.words.index("WATCHDOG=1")
