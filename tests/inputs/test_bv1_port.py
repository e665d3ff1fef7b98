"""The reader thread, over memory and over a pty that is pulled and plugged again."""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path

import pytest

from firmware_host.clock import ManualClock, SystemClock
from firmware_host.errors import BusyError
from firmware_host.inputs.bv1_port import Bv1Port
from firmware_host.inputs.messages import Arrived, PortMessage
from firmware_host.inputs.timeline import Timeline
from firmware_host.inputs.transport import MemoryTransport, Transport
from firmware_host.model.samples import LinkChanged
from hardware.frames import encode_command
from tests.inputs.boards import PORT, hello, port_channels, sample
from tests.inputs.cable import Cable
from tests.waiting import until


class Watch:
    """A reader and what it has told."""

    def __init__(
        self,
        device: Path,
        open_transport: Callable[[], Transport] | None = None,
        clock: ManualClock | None = None,
    ) -> None:
        self.stop = threading.Event()
        self.told: list[PortMessage] = []
        self.deaths: list[tuple[str, str]] = []
        self.reader = Bv1Port(
            replace(PORT, device=str(device)),
            0,
            port_channels(),
            timeline=Timeline(clock or SystemClock(), (clock or SystemClock()).monotonic_s()),
            stop=self.stop,
            put=self.told.append,
            died=lambda thread, why: self.deaths.append((thread, why)),
            open_transport=open_transport,
        )
        self.reader.start()

    def frames(self) -> int:
        return sum(isinstance(message, Arrived) for message in self.told)

    def links(self) -> list[tuple[bool, str]]:
        return [(m.up, m.text) for m in tuple(self.told) if isinstance(m, LinkChanged)]

    def heard(self, cable: Cable, more_than: int = 0) -> bool:
        cable.say()
        return self.frames() > more_than

    def end(self) -> None:
        self.stop.set()
        self.reader.join()


@pytest.fixture
def cable(tmp_path: Path) -> Iterator[Cable]:
    made = Cable(tmp_path / "board")
    yield made
    made.close()


def test_a_board_is_asked_and_its_samples_are_handed_on(tmp_path: Path) -> None:
    stream = MemoryTransport(hello(), sample(1, 1000))
    watch = Watch(tmp_path / "absent", lambda: stream, ManualClock())
    until(lambda: watch.frames() == 1 and len(stream.written) == 2)
    watch.end()
    assert stream.written == [encode_command("?H"), encode_command("R,500")]
    assert stream.closed
    assert watch.deaths == []


def test_a_board_that_takes_no_commands_is_still_read(tmp_path: Path) -> None:
    stream = MemoryTransport(sample(1, 1000))
    stream.takes_writes = False
    watch = Watch(tmp_path / "absent", lambda: stream, ManualClock())
    until(lambda: watch.frames() == 1)
    watch.end()
    assert [up for up, _ in watch.links()] == [True]


def test_a_busy_port_is_told_once_and_tried_again(tmp_path: Path) -> None:
    tries: list[int] = []

    def refuse() -> Transport:
        tries.append(1)
        raise BusyError("held by another program")

    watch = Watch(tmp_path / "absent", refuse, ManualClock())
    until(lambda: len(tries) == 2)
    watch.end()
    assert watch.links() == [(False, "held by another program")]


def test_a_reader_that_fails_says_so_on_its_way_out(tmp_path: Path) -> None:
    def fail() -> Transport:
        raise KeyError("unforeseen")

    watch = Watch(tmp_path / "absent", fail, ManualClock())
    watch.reader.join()
    ((up, text),) = watch.links()
    assert not up
    assert text.startswith("its reader failed (KeyError('unforeseen')). Start bagvigil again")
    assert watch.deaths == [("port-board", "KeyError('unforeseen')")]


def test_an_open_port_that_stays_silent_is_opened_anew(tmp_path: Path) -> None:
    clock = ManualClock()
    opened: list[MemoryTransport] = []

    def reopen() -> Transport:
        opened.append(MemoryTransport(sample(1, 1000)))
        return opened[-1]

    watch = Watch(tmp_path / "absent", reopen, clock)
    until(lambda: watch.frames() == 1)
    clock.turn(30.1)
    until(lambda: len(opened) == 2)
    watch.end()
    assert "silent for 30 s; it is opened anew" in watch.links()[-1][1]
    assert opened[0].closed


def test_a_board_that_is_pulled_and_plugged_again_is_read_again(cable: Cable) -> None:
    cable.plug()
    watch = Watch(cable.name)
    until(lambda: watch.heard(cable))
    cable.unplug()
    until(lambda: watch.links()[-1][0] is False)
    before = watch.frames()
    until(lambda: "is not there. Plug the board in" in watch.links()[-1][1])
    cable.plug()
    until(lambda: watch.heard(cable, more_than=before))
    watch.end()
    assert watch.links()[-1] == (True, "the board answers.")
    assert watch.deaths == []


def test_a_port_that_is_missing_at_the_start_is_found_when_it_comes(cable: Cable) -> None:
    watch = Watch(cable.name)
    until(lambda: watch.links())
    assert watch.links() == [
        (
            False,
            f"{cable.name} is not there. Plug the board in, or correct device in the bench file.",
        )
    ]
    cable.plug()
    until(lambda: watch.heard(cable))
    watch.end()


def test_the_thread_ends_within_half_a_second_while_it_waits_for_a_port(tmp_path: Path) -> None:
    watch = Watch(tmp_path / "absent")
    until(lambda: watch.links())
    watch.stop.set()
    until(lambda: not watch.reader.is_alive, deadline_s=0.5)
    watch.reader.join()
