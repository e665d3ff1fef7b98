"""The watchdog is fed by progress, never by time."""

from __future__ import annotations

import logging
import socket
from collections.abc import Iterator
from pathlib import Path

import pytest

from firmware_host.clock import ManualClock
from firmware_host.outputs.health import Health
from firmware_host.outputs.record_thread import Stored
from firmware_host.outputs.service import ServiceManager


class Manager:
    """A service manager that writes down what it is told."""

    def __init__(self, path: Path) -> None:
        self.socket = socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM)
        self.socket.bind(str(path))
        self.socket.settimeout(0.0)
        self.clock = ManualClock()
        self.health = Health(ServiceManager(str(path)), self.clock)

    def told(self) -> list[str]:
        lines = []
        try:
            while True:
                lines.append(self.socket.recv(500).decode())
        except BlockingIOError:
            return lines


@pytest.fixture
def manager(tmp_path: Path) -> Iterator[Manager]:
    made = Manager(tmp_path / "notify")
    yield made
    made.health.close()
    made.socket.close()


def stored(inputs: int) -> Stored:
    return Stored(frames=inputs, inputs=inputs, at_s=0.0)


def test_only_a_record_that_grew_feeds_the_watchdog(manager: Manager) -> None:
    manager.health.look(stored(7), 7, "")  # what an earlier run stored is no progress of this one
    assert manager.told() == []
    manager.health.look(stored(7), 9, "")
    assert manager.told() == []
    manager.health.look(stored(8), 9, "")
    assert manager.told() == ["WATCHDOG=1"]


def test_turning_without_progress_starves_the_watchdog(manager: Manager) -> None:
    for _ in range(100):
        manager.clock.turn(0.05)
        manager.health.look(stored(7), 9, "")
    assert manager.told() == []


def test_while_the_disk_is_said_not_to_follow_judging_is_enough(manager: Manager) -> None:
    manager.health.look(stored(7), 7, "")
    manager.health.look(stored(7), 8, "the disk is full.")
    assert manager.told() == ["WATCHDOG=1"]
    manager.health.look(stored(7), 8, "the disk is full.")
    assert manager.told() == []


def test_a_status_line_every_ten_seconds_says_lag_and_trouble(manager: Manager) -> None:
    manager.health.judged(0.25)
    manager.health.judged(0.003)
    manager.clock.turn(9.9)
    manager.health.look(stored(5), 5, "")
    assert manager.told() == []
    manager.clock.turn(0.1)
    manager.health.look(stored(5), 5, "the disk is full.")
    assert manager.told() == ["STATUS=5 frames stored, at most 250 ms behind. the disk is full."]
    assert manager.health.lag_s == 0.0


def test_a_late_core_and_a_lagging_disk_are_logged_once(
    manager: Manager, caplog: pytest.LogCaptureFixture
) -> None:
    with caplog.at_level(logging.WARNING):
        for _ in range(3):
            manager.health.judged(1.5)
            manager.clock.turn(10.0)
            manager.health.look(stored(5), 5, "the disk is full.")
        manager.health.look(stored(5), 5, "")
    assert [record.getMessage() for record in caplog.records] == [
        "recording: the disk is full.",
        "a frame was judged 1.5 s after it came (limit 1 s): this computer is too busy",
        "recording: the disk follows again",
    ]
