"""The line to the service manager never holds the watch up."""

from __future__ import annotations

import socket
from collections.abc import Iterator
from pathlib import Path

import pytest

from firmware_host.outputs.service import ServiceManager


@pytest.fixture
def manager(tmp_path: Path) -> Iterator[socket.socket]:
    with socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM) as bound:
        bound.bind(str(tmp_path / "notify"))
        bound.settimeout(5.0)
        yield bound


def test_each_word_arrives_as_one_datagram(manager: socket.socket) -> None:
    service = ServiceManager.from_environment({"NOTIFY_SOCKET": manager.getsockname()})
    service.starting(60.0)
    service.ready()
    service.alive()
    service.status("12 rows stored\nlag 3 ms")
    service.stopping()
    service.close()
    assert [manager.recv(200) for _ in range(5)] == [
        b"EXTEND_TIMEOUT_USEC=60000000",
        b"READY=1",
        b"WATCHDOG=1",
        b"STATUS=12 rows stored lag 3 ms",
        b"STOPPING=1",
    ]


def test_an_abstract_address_is_understood() -> None:
    with socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM) as bound:
        bound.bind("")  # the system picks an abstract name
        bound.settimeout(5.0)
        name: bytes = bound.getsockname()
        service = ServiceManager("@" + name[1:].decode())
        service.ready()
        service.close()
        assert bound.recv(100) == b"READY=1"


def test_a_manager_that_does_not_read_never_blocks(manager: socket.socket) -> None:
    service = ServiceManager(manager.getsockname())
    for _ in range(2000):
        service.alive()
    service.close()
    manager.settimeout(0.0)
    taken = 0
    with pytest.raises(BlockingIOError):
        while manager.recv(100):
            taken += 1
    assert 0 < taken < 2000


def test_without_a_manager_nothing_is_sent() -> None:
    service = ServiceManager.from_environment({})
    service.ready()
    service.close()


def test_a_manager_that_is_gone_is_no_error(tmp_path: Path) -> None:
    service = ServiceManager(str(tmp_path / "nobody"))
    service.alive()
    service.close()
