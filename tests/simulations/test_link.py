import os
import termios
from collections.abc import Iterator
from pathlib import Path

import pytest

from firmware_host.clock import ManualClock
from hardware.frames import FrameReader, encode_command
from hardware.messages import Hello, Reply, SampleLine
from simulations.link import PtyLink
from simulations.pacing import answer, run
from simulations.rig import Rig
from simulations.scenario import SHIPPED, parse

TEXT = """
[scenario]
name = "try"
seed = 3
about = "A try."
length_s = 20.0
job = "hatch-cover"
"""


@pytest.fixture
def link(tmp_path: Path) -> Iterator[PtyLink]:
    link = PtyLink(tmp_path / "board")
    yield link
    link.close()


def open_port(path: Path) -> int:
    return os.open(path, os.O_RDWR | os.O_NOCTTY | os.O_NONBLOCK)


def test_a_line_comes_out_as_it_went_in(link: PtyLink, tmp_path: Path) -> None:
    port = open_port(tmp_path / "board")
    every_byte = bytes(range(256))
    assert link.write(every_byte)
    assert os.read(port, 4096) == every_byte
    os.write(port, every_byte)
    assert link.read() == every_byte
    assert link.read() == b""
    os.close(port)


def test_a_pulled_cable_ends_the_readers_port_and_the_path(link: PtyLink, tmp_path: Path) -> None:
    port = open_port(tmp_path / "board")
    link.unplug()
    assert not (tmp_path / "board").is_symlink()
    with pytest.raises((OSError, termios.error)):
        os.write(port, b"?")
    assert link.write(b"into the void\n")
    assert link.overruns == 0
    assert link.read() == b""
    os.close(port)


def test_a_cable_put_back_works_at_the_same_path(link: PtyLink, tmp_path: Path) -> None:
    link.unplug()
    link.unplug()
    assert not link.plugged
    link.plug()
    link.plug()
    port = open_port(tmp_path / "board")
    assert link.write(b"again\n")
    assert os.read(port, 4096) == b"again\n"
    os.close(port)


def test_what_nobody_reads_is_dropped_in_whole_lines_and_counted(
    link: PtyLink, tmp_path: Path
) -> None:
    port = open_port(tmp_path / "board")
    lines = [b"%05d %s\n" % (i, b"x" * 80) for i in range(2000)]
    sent = [link.write(line) for line in lines]
    assert link.overruns == sent.count(False) > 0
    got = b""
    while True:
        try:
            got += os.read(port, 65536)
        except BlockingIOError:
            if not link._unsent:  # noqa: SLF001 - the tail of a line cut by a full buffer
                break
            link.write(b"")
    complete = [line for line, ok in zip(lines, sent, strict=True) if ok]
    assert got.splitlines(keepends=True) == complete
    os.close(port)


def test_a_stale_path_is_replaced(tmp_path: Path) -> None:
    (tmp_path / "board").symlink_to("/nonexistent")
    link = PtyLink(tmp_path / "board")
    assert (tmp_path / "board").exists()
    link.close()


def test_a_scenario_runs_over_the_cable_at_the_clocks_pace(link: PtyLink, tmp_path: Path) -> None:
    text = '[[event]]\nat_s = 5.0\ndo = "bag_closed"\n[[mark]]\nat_s = 6.0\nname = "bag_closed"\n'
    rig = Rig(parse(TEXT + text, "try.toml", SHIPPED))
    clock = ManualClock(1000.0)
    port = open_port(tmp_path / "board")
    happened = [thing.at_s for thing in run(rig, link, clock, wait_for_host=False)]
    assert happened == [5.0, 6.0]
    assert clock.monotonic_s() - 1000.0 == pytest.approx(20.0, abs=0.1)
    messages = FrameReader().feed(os.read(port, 65536))
    assert isinstance(messages[0], Hello)
    # A pty nobody reads holds some 4 kB; on a busy machine it drops what a busy port would drop.
    assert sum(isinstance(message, SampleLine) for message in messages) >= 30
    os.close(port)


def test_the_cable_follows_the_scenario(link: PtyLink, tmp_path: Path) -> None:
    text = '[[event]]\nat_s = 5.0\ndo = "unplug"\n[[event]]\nat_s = 8.0\ndo = "replug"\n'
    rig = Rig(parse(TEXT + text, "try.toml", SHIPPED))
    there = [
        (tmp_path / "board").exists() for _ in run(rig, link, ManualClock(), wait_for_host=False)
    ]
    assert there == [False, True]


def test_a_waiting_bench_begins_when_the_host_speaks(link: PtyLink, tmp_path: Path) -> None:
    rig = Rig(parse(TEXT, "try.toml", SHIPPED))
    port = open_port(tmp_path / "board")
    os.write(port, encode_command("I"))
    for _ in run(rig, link, ManualClock(), wait_for_host=True):
        pass
    messages = FrameReader().feed(os.read(port, 65536))
    assert messages[0] == Reply(command="I", ok=True)
    assert rig.board.blinks == 1
    os.close(port)


def test_the_board_answers_over_the_cable(link: PtyLink, tmp_path: Path) -> None:
    rig = Rig(parse(TEXT, "try.toml", SHIPPED))
    port = open_port(tmp_path / "board")
    assert not answer(rig, link)
    os.write(port, encode_command("?H"))
    assert answer(rig, link)
    assert os.read(port, 4096) == rig.board.hello()
    os.close(port)
