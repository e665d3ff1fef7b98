"""A serial port over a pty: every way it can go away is one error with a next step."""

from __future__ import annotations

import os
import threading
from collections.abc import Iterator
from pathlib import Path

import pytest

from firmware_host.errors import BusyError, LinkLostError
from firmware_host.inputs.transport import (
    MemoryTransport,
    PortOpener,
    SerialTransport,
    Transport,
)
from tests.inputs.cable import Cable


@pytest.fixture
def cable(tmp_path: Path) -> Iterator[Cable]:
    made = Cable(tmp_path / "board")
    made.plug()
    yield made
    made.close()


@pytest.fixture
def port(cable: Cable) -> Iterator[SerialTransport]:
    opened = SerialTransport(str(cable.name), 115200)
    yield opened
    opened.close()


def test_bytes_go_both_ways(cable: Cable, port: SerialTransport) -> None:
    os.write(cable.board, b"@S,1*\n")
    assert port.read() == b"@S,1*\n"
    assert port.write(b"?H\n")
    assert os.read(cable.board, 100) == b"?H\n"


def test_a_silent_port_reads_as_nothing(port: SerialTransport) -> None:
    assert port.read() == b""


def test_a_port_that_another_program_holds_is_busy(cable: Cable, port: SerialTransport) -> None:
    assert port
    with pytest.raises(BusyError, match=r"is held by (.+ \(process \d+\)|another program)\. Stop"):
        SerialTransport(str(cable.name), 115200)


def test_a_missing_port_says_what_to_do(tmp_path: Path) -> None:
    with pytest.raises(LinkLostError, match=r"absent is not there\. Plug the board in, or correct"):
        SerialTransport(str(tmp_path / "absent"), 115200)


def test_something_that_is_no_port_says_so(tmp_path: Path) -> None:
    (tmp_path / "file").write_bytes(b"")
    with pytest.raises(LinkLostError, match=r"file cannot be opened at 115200 baud"):
        SerialTransport(str(tmp_path / "file"), 115200)


def test_a_pulled_plug_is_a_lost_link(cable: Cable, port: SerialTransport) -> None:
    cable.unplug()
    with pytest.raises(LinkLostError, match="Check plug and cable"):
        port.read()
    with pytest.raises(LinkLostError, match="Check plug and cable"):
        port.write(b"?H\n")


def test_a_name_that_points_elsewhere_is_a_lost_link(cable: Cable, port: SerialTransport) -> None:
    old_board = cable.board
    cable.plug()
    with pytest.raises(LinkLostError, match="now names another device"):
        port.read()
    os.close(old_board)


def test_a_name_that_is_gone_is_a_lost_link(cable: Cable, port: SerialTransport) -> None:
    cable.name.unlink()
    with pytest.raises(LinkLostError, match="is gone"):
        port.read()


def test_a_read_that_waits_is_ended_by_cancel(port: SerialTransport) -> None:
    canceller = threading.Thread(target=port.cancel, name="canceller")
    canceller.start()
    assert port.read() == b""
    canceller.join()


def test_a_closed_port_reads_as_lost_and_closes_twice(port: SerialTransport) -> None:
    port.close()
    port.close()
    with pytest.raises(LinkLostError):
        port.read()


def test_a_board_that_takes_nothing_is_said_and_is_no_lost_link(port: SerialTransport) -> None:
    assert not all(port.write(bytes(4096)) for _ in range(64))


def test_a_claimed_port_is_handed_on_open_and_opened_anew_after_that(cable: Cable) -> None:
    opener = PortOpener(str(cable.name), 115200)
    opener.claim()
    with pytest.raises(BusyError):
        SerialTransport(str(cable.name), 115200)
    first = opener()
    opener.close()
    os.write(cable.board, b"@")
    assert first.read() == b"@"
    first.close()
    opener().close()


def test_a_port_that_somebody_holds_cannot_be_claimed(cable: Cable, port: SerialTransport) -> None:
    assert port
    with pytest.raises(BusyError, match=r"Stop that program, then try again\."):
        PortOpener(str(cable.name), 115200).claim()


def test_a_claim_on_a_missing_port_leaves_it_to_its_reader(tmp_path: Path) -> None:
    opener = PortOpener(str(tmp_path / "absent"), 115200)
    opener.claim()
    opener.close()
    with pytest.raises(LinkLostError, match=r"Plug the board in"):
        opener()


def test_a_claimed_port_that_nobody_asked_for_is_given_back(cable: Cable) -> None:
    opener = PortOpener(str(cable.name), 115200)
    opener.claim()
    opener.close()
    SerialTransport(str(cable.name), 115200).close()


def test_the_stream_in_memory_keeps_the_same_promises() -> None:
    stream: Transport = MemoryTransport(b"abc")
    assert stream.read() == b"abc"
    stream.cancel()
    assert stream.read() == b""
    stream.close()
    with pytest.raises(LinkLostError):
        stream.write(b"x")
