"""The firmware against the host's own encoder, under CPython and under MicroPython."""

from __future__ import annotations

import os
import shutil
import subprocess
from collections.abc import Iterable
from pathlib import Path

import pytest

from hardware.board.chips import Max31855
from hardware.board.talk import Board, frame
from hardware.frames import (
    FrameReader,
    encode,
    encode_command,
    encode_hello,
    encode_reply,
    encode_sample,
    encode_status,
)
from hardware.messages import Hello, Reply, SampleLine, Status
from tests.hardware.board.fakes import ScriptedSpi
from tests.hardware.board.story import (
    BEGIN_MS,
    BOOT_ID,
    MIXED,
    REFUSED,
    UID,
    ToldPins,
    chips,
    refusals,
    told,
    told_by_main,
)

PROJECT = Path(__file__).parents[3]
BUILD = os.environ.get("BAGVIGIL_MICROPYTHON", "")
"""Where `.ci/run` put the build of MicroPython for Node; see DEVELOPERS.md."""


def encoded_by_the_host(line: bytes) -> bytes:
    """Read a line as the host does and write it anew with the host's encoder."""
    (message,) = FrameReader().feed(line)
    if isinstance(message, SampleLine):
        return encode_sample(message.seq, message.t_ms, message.raws)
    if isinstance(message, Hello):
        return encode_hello(message)
    if isinstance(message, Status):
        return encode_status(message)
    assert isinstance(message, Reply)
    return encode_reply(message)


def samples(lines: Iterable[bytes]) -> list[SampleLine]:
    """The sample lines among those that a board sent."""
    messages = FrameReader().feed(b"".join(lines))
    return [one for one in messages if isinstance(one, SampleLine)]


@pytest.mark.parametrize(
    "lines", [told()[:-1], told_by_main(), told_by_main(MIXED)], ids=["told", "main", "mixed"]
)
def test_every_line_is_byte_for_byte_the_hosts_own(lines: list[bytes]) -> None:
    assert [encoded_by_the_host(line) for line in lines] == lines


def test_the_vectors_of_the_protocol_are_framed_alike() -> None:
    assert frame("S,1,1000,32768,01901900,00010001") == (
        b"@S,1,1000,32768,01901900,00010001*14176374\n"
    )
    assert frame("") == b"@*00000000\n"


def test_the_host_is_answered_in_order() -> None:
    hello = encode_hello(
        Hello(
            proto=1,
            firmware="1.0",
            boot_id=BOOT_ID,
            uid=UID,
            kinds=tuple(chip.kind for chip in chips()),
        )
    )
    replies = [line for line in told()[:-1] if line[1:2] in (b"H", b"A")]
    assert replies == [
        hello,  # at boot
        hello,  # to ?H
        encode("A,R,1"),
        encode("A,R,0"),  # 5 ms is below the least
        encode("A,I,1"),  # in two pieces, with a carriage return; the damaged one has no answer
        encode("A,R,0"),  # 60001 ms is above the most
        encode("A,R,0"),  # 9x is no number
    ]
    assert told()[-1] == b"blinks 1"


def test_the_words_are_those_of_the_chips() -> None:
    first, second, third = samples(told())[:3]
    room = "706B436718FC7D8E43D6D00B270B8C00F9FF8C3CF8C67017655AC07EED00"
    still = ("2048", "-13333")
    faults = ("!2", "00000000", "!121")
    assert first.raws == ("01901900", "-", "-", *still, "-", *faults)
    assert second.raws == ("01901900", "01900000", "40000000", *still, room, *faults)
    assert third.raws == second.raws


def test_time_wraps_at_32_bits_and_a_late_turn_is_counted() -> None:
    lines = told()[:-1]
    times_ms = [sample.t_ms for sample in samples(lines)]
    assert BEGIN_MS < max(times_ms) < 1 << 32
    assert [sample.seq for sample in samples(lines)] == list(range(1, len(times_ms) + 1))
    (status,) = [one for one in FrameReader().feed(b"".join(lines)) if isinstance(one, Status)]
    assert status.supply_mv == 5021
    assert status.overruns == 4  # three samples' time was missed, one line was not taken


def test_the_boards_own_clock_counts_on_when_its_ticks_wrap() -> None:
    assert [sample.t_ms for sample in samples(told_by_main())] == list(range(500, 11001, 500))


def test_the_boards_own_supply_is_that_of_its_divider() -> None:
    (status,) = [
        one for one in FrameReader().feed(b"".join(told_by_main())) if isinstance(one, Status)
    ]
    assert (status.uptime_s, status.supply_mv) == (10, 4999)


def test_chips_of_two_modes_share_the_bus_by_the_layout_alone() -> None:
    first = samples(told_by_main(MIXED))[0]
    assert first.raws == ("01901900", "01900000", "!2", "13333")


@pytest.mark.parametrize(
    ("raws", "said"),
    list(
        zip(
            REFUSED,
            (
                "raw 0: 'max3185' is no part; parts are ads1115, bmp280, max31855, max31856, "
                "max31865, mcp3208",
                "raw 0: chip-select pin None of max31855 must be from 0 to 29",
                "raw 1: chip-select pin 99 of max31855 must be from 0 to 29",
                "raw 0: couple 'R' is none of",
                "raw 0: wires 5 is none of 2, 3, 4",
                "raw 0: input 8 is none of 0, 1, 2, 3, 4, 5, 6, 7",
                "raw 0: input '4' is none of",
                "raw 0: largest voltage 5.0 is none of",
                "raw 0: address 120 of bmp280 must be from 8 to 119",
                "raw 0: '' is no part",
                "4 raws make a line of up to 273 bytes, the most is 240: put some on another board",
                "24 raws make a line of up to 245 bytes, the most is 240",
            ),
            strict=True,
        )
    ),
)
def test_a_layout_that_cannot_be_is_refused_at_boot(
    raws: tuple[tuple[object, ...], ...], said: str
) -> None:
    assert said in refusals()[REFUSED.index(raws)].decode()


def test_the_fullest_layout_still_fits_the_line_at_its_longest() -> None:
    pins = ToldPins()
    pins.ms = 4294967295 - 100
    full = [Max31855(ScriptedSpi([b"\xff\xff\xff\xff"] * 9)) for _ in range(23)]
    board = Board(pins, list(full), UID, BOOT_ID, 20)
    for _ in range(3):
        board.turn()
    assert max(len(line) for line in pins.sent) <= 240
    assert samples(pins.sent)


def test_a_flood_without_a_line_feed_costs_one_command_at_most() -> None:
    pins = ToldPins()
    pins.hear = [b"x" * 5000, b"@" * 300 + b"\n", encode_command("I")]
    board = Board(pins, [], UID, BOOT_ID)
    for _ in range(3):
        board.turn()
    assert pins.blinks == 1


@pytest.mark.skipif(not BUILD, reason="BAGVIGIL_MICROPYTHON names no build of MicroPython")
def test_micropython_tells_the_same_story_byte_for_byte() -> None:
    node = shutil.which("node")
    assert node is not None, "a build is named, but there is no node to run it"
    script = Path(__file__).with_name("run.mjs")
    ran = subprocess.run(
        [node, str(script), BUILD, str(PROJECT)],
        capture_output=True,
        text=True,
        timeout=120.0,
        check=False,
    )
    assert ran.returncode == 0, ran.stderr
    name, *lines = ran.stdout.split()
    assert name == "micropython"
    assert [bytes.fromhex(line) for line in lines] == (
        told() + told_by_main() + told_by_main(MIXED) + refusals()
    )
