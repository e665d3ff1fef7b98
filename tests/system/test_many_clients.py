"""Twenty clients at the socket, one that hardly reads and one that never does: sampling goes on.

Lateness is the time from the last byte of a sample on the pty to the stamp that the daemon gives
it; the record holds the stamp.
"""

from __future__ import annotations

import select
import socket
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from statistics import median

import msgspec
import pytest

from firmware_host.clock import SystemClock
from firmware_host.outputs.record_reader import open_record
from tests.inputs.boards import KINDS, RAWS, hello, sample
from tests.inputs.cable import Cable
from tests.system.room import Room
from tests.waiting import until

PERIOD_S = 0.1
ALONE_S, CROWDED_S = 5.0, 11.0
"""Five seconds of unread output give a client up, once the system's buffer for it is full."""
GOOD = 18
SLOW_BYTES, SLOW_EVERY_S = 256, 0.1
"""Less than half of what is said."""
LATER_AT_MOST_S = 0.005
"""Stamps are whole milliseconds; another test beside this one costs as much."""
CLOCK = SystemClock()


@dataclass(slots=True)
class Client:
    """Somebody at the daemon's socket who has asked for the stream."""

    line: socket.socket
    heard: bytearray = field(default_factory=bytearray)

    @classmethod
    def at(cls, path: Path) -> Client:
        line = socket.socket(socket.AF_UNIX)
        line.connect(str(path))
        line.sendall(b'{"ask":"stream"}\n')
        return cls(line)

    def hear(self, most: int = 65536) -> None:
        self.heard += self.line.recv(most)

    def is_dropped(self) -> bool:
        """Whether the daemon has closed its end; what lies unread does not matter."""
        watch = select.poll()
        watch.register(self.line, 0)  # the end is told whatever is asked for
        return bool(watch.poll(0))

    def walls(self) -> list[str]:
        """Dates of the snapshots that came whole."""
        *lines, _ = bytes(self.heard).split(b"\n")
        return [msgspec.json.decode(line)["wall"] for line in lines]


class Crowd:
    """Eighteen who read, one who reads slowly, one who does not read."""

    def __init__(self, path: Path) -> None:
        self.good = [Client.at(path) for _ in range(GOOD)]
        self.slow, self.stalled = Client.at(path), Client.at(path)
        self._stop = threading.Event()
        self._thread = threading.Thread(target=self._listen, name="crowd")
        self._thread.start()

    def leave(self) -> None:
        """Stop reading."""
        self._stop.set()
        self._thread.join()

    def close(self) -> None:
        for client in (*self.good, self.slow, self.stalled):
            client.line.close()

    def _listen(self) -> None:
        by_line = {client.line: client for client in self.good}
        slow_s = 0.0
        while not self._stop.is_set():
            for line in select.select(list(by_line), [], [], SLOW_EVERY_S / 2.0)[0]:
                by_line[line].hear()
            if CLOCK.monotonic_s() - slow_s > SLOW_EVERY_S:
                slow_s = CLOCK.monotonic_s()
                self.slow.hear(SLOW_BYTES)


@contextmanager
def crowd(path: Path) -> Iterator[Crowd]:
    made = Crowd(path)
    try:
        yield made
    finally:
        made.leave()
        made.close()


class Board(Cable):
    """Says ten samples a second, and keeps when each was on the wire."""

    def __init__(self, name: Path) -> None:
        super().__init__(name)
        self.written_s: list[float] = []

    def speak(self, for_s: float) -> range:
        """Speak for this long; gives the numbers of the samples."""
        first, begun_s = len(self.written_s), CLOCK.monotonic_s()
        for count in range(round(for_s / PERIOD_S)):
            CLOCK.sleep(max(0.0, begun_s + count * PERIOD_S - CLOCK.monotonic_s()))
            number = len(self.written_s)
            self.say(sample(number, round(1000.0 * PERIOD_S * (number + 1)), (*RAWS, str(number))))
            self.written_s.append(CLOCK.monotonic_s())
        return range(first, len(self.written_s))


@pytest.fixture
def board(room: Room) -> Iterator[Board]:
    made = Board(room.device)
    made.plug()
    yield made
    made.close()


def late_s(folder: Path, board: Board) -> dict[int, float]:
    """Lateness of every sample in the record, by its number."""
    with open_record(folder) as record:
        zero_s = record.meta.zero_mono_s
        return {
            (number := int(stored.raw.split(",")[-1])): zero_s
            + stored.arrived_s
            - board.written_s[number]
            for stored in record.stored_inputs()
            if stored.raw is not None and stored.arrived_s is not None
        }


def test_twenty_clients_make_no_sample_late_and_only_the_one_that_never_reads_is_dropped(
    room: Room, board: Board
) -> None:
    room.write_bench(period_s=PERIOD_S)
    daemon = room.watch()
    folder = room.job_folder(daemon)
    board.say(hello(kinds=(*KINDS, "adc16s")))
    until(lambda: board.speak(0.5) and (now := room.look()) is not None and now.stored_rows > 2)
    only = Client.at(room.socket)
    alone = board.speak(ALONE_S)
    only.line.close()
    with crowd(room.socket) as everybody:
        crowded = board.speak(CROWDED_S)
        until(everybody.stalled.is_dropped)
        last = room.see()
        assert not any(client.is_dropped() for client in (*everybody.good, everybody.slow))
        everybody.leave()
        assert_heard(everybody, last.wall)
    assert daemon.stop() == 0, daemon.err
    assert_in_time(late_s(folder, board), alone, crowded)


def assert_heard(everybody: Crowd, last_wall: str) -> None:
    """Whoever reads has every snapshot; whoever reads slowly skips some and stays current."""
    heard = [client.walls() for client in everybody.good]
    first, end = max(walls[0] for walls in heard), min(last_wall, *(walls[-1] for walls in heard))
    common = [[wall for wall in walls if first <= wall <= end] for walls in heard]
    assert len(common[0]) > 2.0 * CROWDED_S  # four a second are said
    assert all(walls == common[0] for walls in common)
    slow = everybody.slow.walls()
    assert 1 < len(slow) < len(common[0])
    assert set(slow) <= set(heard[0]) | {slow[0]}


def assert_in_time(late: dict[int, float], alone: range, crowded: range) -> None:
    """No sample is lost, hardly one is a period late, and most are as early as before."""
    assert set(late) >= {*alone, *crowded}
    crowded_s = sorted(late[number] for number in crowded)
    assert crowded_s[len(crowded_s) * 19 // 20] < PERIOD_S
    alone_s = median(late[number] for number in alone)
    assert median(crowded_s) < alone_s + LATER_AT_MOST_S, (alone_s, crowded_s)
