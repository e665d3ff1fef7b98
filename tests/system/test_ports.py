"""Ports that are not there, come late, or talk nonsense."""

from __future__ import annotations

import os
import random
import select
from collections.abc import Iterator

import pytest

from firmware_host.clock import SystemClock
from firmware_host.model.events import Phase
from firmware_host.model.samples import Frame
from firmware_host.outputs.record_reader import open_record
from hardware.frames import encode_sample
from tests.inputs.boards import COUPLE_25C, HALF_BAR, SUPPLY, hello
from tests.inputs.cable import PERIOD_MS, Cable
from tests.system.room import Child, Room
from tests.waiting import until

CLOCK = SystemClock()
MEGABYTES = 2


@pytest.fixture
def cable(room: Room) -> Iterator[Cable]:
    made = Cable(room.device)
    yield made
    made.close()


def phase(room: Room) -> Phase | None:
    now = room.look()
    return now.view.phase if now is not None else None


def is_up(room: Room) -> bool:
    now = room.look()
    return now is not None and now.links[0].up


def test_without_any_port_marks_and_the_work_clock_run(room: Room) -> None:
    room.write_bench(ports=False)
    daemon = room.watch()
    room.job_folder(daemon)
    until(lambda: room.look() is not None)
    marked = room.command("mark", "mixed", "--ago", "2m30s", "--bench", room.bench)
    assert (marked.returncode, marked.stderr) == (0, "")
    until(lambda: phase(room) is Phase.WORKING)
    view = room.see().view
    assert view.channels == ()
    assert view.mixed_s is not None
    assert 150.0 <= view.time_s - view.mixed_s < 170.0
    until(lambda: room.see().view.time_s > view.time_s + 1.0)
    assert daemon.stop() == 0


def test_a_port_that_is_missing_at_the_start_is_read_once_it_appears(
    room: Room, cable: Cable
) -> None:
    room.write_bench()
    daemon = room.watch()
    room.job_folder(daemon)
    until(lambda: room.look() is not None)
    (link,) = room.see().links
    assert not link.up
    assert "is not there. Plug the board in" in link.text
    assert room.command("mark", "mixed", "--bench", room.bench).returncode == 0
    assert {channel.value for channel in room.see().view.channels} == {None}

    cable.plug()
    plugged_s = CLOCK.monotonic_s()
    until(lambda: _spoken(room, cable))
    assert CLOCK.monotonic_s() - plugged_s < 6.0  # the longest wait between two openings, and one
    until(lambda: bag_pa(room, cable) is not None)
    assert bag_pa(room, cable) == pytest.approx(50000.0, abs=5.0)
    assert daemon.stop() == 0


def _spoken(room: Room, cable: Cable) -> bool:
    cable.say(hello())
    cable.say()
    return is_up(room)


def bag_pa(room: Room, cable: Cable) -> float | None:
    cable.say()
    return room.see().view.channels[0].value


def raws(number: int) -> tuple[str, str, str]:
    """A sample that cannot be mistaken for another."""
    return (str(int(HALF_BAR) + number), COUPLE_25C, str(SUPPLY))


def pour(board: int, data: bytes) -> None:
    """Push bytes through the pty as fast as the daemon takes them."""
    os.set_blocking(board, False)
    at = 0
    while at < len(data):
        assert select.select([], [board], [], 20.0)[1], "the daemon reads no more"
        at += os.write(board, data[at : at + 4096])


def nonsense(rng: random.Random) -> Iterator[bytes]:
    """What a loose plug, a wrong baud rate or a mad board may send."""
    yield b"\xff" * (MEGABYTES << 20)
    yield b"\x00" * (MEGABYTES << 20)
    yield rng.randbytes(1 << 20)
    yield b"@" * 100_000
    yield b"\n" * 100_000
    yield b"@S,1,1,1*00000000\n" * 1000
    good = encode_sample(7, 7, raws(0))
    for _ in range(500):
        spoilt = bytearray(good)
        spoilt[rng.randrange(len(good) - 1)] ^= 1 << rng.randrange(8)
        yield bytes(spoilt)
    yield good[:-1]  # a line cut short, run together with the next good one


def test_megabytes_of_nonsense_change_no_value_and_the_next_good_line_is_read(
    room: Room, cable: Cable
) -> None:
    room.write_bench()
    cable.plug()
    daemon = room.watch()
    folder = room.job_folder(daemon)
    pour(cable.board, hello())
    sent: list[tuple[str, ...]] = []
    for garbage in nonsense(random.Random(20)):
        pour(cable.board, garbage)
        sent.append(raws(len(sent)))
        number = len(sent)
        pour(cable.board, encode_sample(number, PERIOD_MS * number, sent[-1]))
    until(lambda: room.see().stored_rows >= len(sent), 20.0)
    # While nobody looks a snapshot may be a second old.
    until(lambda: room.see().links[0].damaged >= 1500, 20.0)
    stop_quietly(daemon)
    with open_record(folder) as record:
        read = [one.raw for one in record.stored_inputs() if isinstance(one.given, Frame)]
    assert read == [",".join(words) for words in sent]


def stop_quietly(daemon: Child) -> None:
    assert daemon.stop() == 0, daemon.err
    assert "Traceback" not in daemon.err
    assert "ERROR" not in daemon.err
