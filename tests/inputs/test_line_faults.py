"""What a serial line does to a board's stream, and what the port's reader makes of it."""

from __future__ import annotations

import random
from collections.abc import Iterable

import pytest

from firmware_host.inputs.board_clock import BoardClock
from firmware_host.inputs.bv1_board import UNHEARD_RESTART, Bv1Board
from firmware_host.inputs.messages import Arrived, PortCounts, PortMessage
from firmware_host.model.samples import Frame, LinkChanged
from tests.inputs.boards import SUPPLY, hello, port_channels, sample

STEP_MS = 500
LINES = 200


def raws(seq: int) -> tuple[str, ...]:
    return (str(10_000 + seq), "01901900", str(SUPPLY))


def line(seq: int, step_ms: int = STEP_MS) -> bytes:
    return sample(seq % 65536, step_ms * seq % 2**32, raws(seq % 10_000))


def board() -> Bv1Board:
    return Bv1Board(0, port_channels(), BoardClock(), 0, 1.0)


def lived(pieces: Iterable[tuple[int, bytes]]) -> list[PortMessage]:
    """Feed (arrival in ms, bytes) to a board that has said hello."""
    port, arrival_ms = board(), 1000
    told = port.feed(hello(), arrival_ms)
    for arrival_ms, data in pieces:
        told += port.feed(data, arrival_ms)
    return told + port.feed(b"", arrival_ms + 1000)


def frames(told: list[PortMessage]) -> list[Frame]:
    return [message.frame for message in told if isinstance(message, Arrived)]


def links(told: list[PortMessage]) -> list[LinkChanged]:
    return [message for message in told if isinstance(message, LinkChanged)]


def counts(told: list[PortMessage]) -> PortCounts:
    return [message for message in told if isinstance(message, PortCounts)][-1]


def clean(count: int = LINES) -> list[tuple[int, bytes]]:
    return [(1000 + STEP_MS * seq, line(seq)) for seq in range(1, count + 1)]


def harmed(data: bytes) -> bytes:
    return data.replace(b"*", b"0*")


def test_more_than_one_wrong_crc_in_a_hundred_is_counted_and_told() -> None:
    pieces = [(at, harmed(data) if at % 25_000 == 0 else data) for at, data in clean(400)]
    told = lived(pieces)
    assert counts(told).damaged == sum(at % 25_000 == 0 for at, _ in pieces)
    (limping,) = [link for link in links(told) if link.limps]
    assert limping.up
    assert limping.text.startswith("1.") or limping.text.startswith("2.")
    assert "% of its lines come damaged (limit 1 %). Check cable, plug and baud." in limping.text


def test_a_line_that_is_clean_again_for_a_minute_is_told_too() -> None:
    pieces = [(at, harmed(data) if at < 20_000 else data) for at, data in clean(400)]
    assert [link.limps for link in links(lived(pieces))][-2:] == [True, False]


def test_one_wrong_crc_in_a_minute_is_counted_and_not_told() -> None:
    pieces = [(at, harmed(data) if at == 50_000 else data) for at, data in clean(200)]
    told = lived(pieces)
    assert counts(told).damaged == 1
    assert not [link for link in links(told) if link.limps]


def test_duplicates_are_stored_once() -> None:
    doubled = [(at, data * 3) for at, data in clean()]
    told = lived(doubled)
    assert frames(told) == frames(lived(clean()))
    assert counts(told).duplicates == 2 * LINES


def test_late_lines_leave_the_stream_as_if_they_had_never_come() -> None:
    """Whatever is computed from equal frames is equal, the cure's integral too."""
    pieces = clean()
    rng = random.Random(11)
    late = sorted(rng.sample(range(10, LINES - 10), 12))
    without = [piece for place, piece in enumerate(pieces) if place not in late]
    jumbled: list[tuple[int, bytes]] = []
    for place, (at, data) in enumerate(pieces):
        if place not in late:
            # What is late comes in one piece after the line that overtook it.
            jumbled.append((at, data + (pieces[place - 1][1] if place - 1 in late else b"")))
    told = lived(jumbled)
    assert frames(told) == frames(lived(without))
    assert counts(told).old == len([place for place in late if place + 1 not in late])
    times_s = [frame.time_s for frame in frames(told)]
    assert times_s == sorted(set(times_s))


def test_old_lines_just_short_of_a_restart_are_not_believed() -> None:
    pieces = clean(50)
    replayed = b"".join(data for _, data in pieces[20 : 20 + UNHEARD_RESTART - 1])
    told = lived([*pieces, (26_001, replayed), *clean(60)[50:]])
    assert frames(told) == frames(lived(clean(60)))


@pytest.mark.parametrize("ratio", [0.2, 0.5, 2.0, 5.0])
def test_a_wrong_rate_is_told_and_keeps_its_own_time(ratio: float) -> None:
    step_ms = round(STEP_MS * ratio)
    told = lived((1000 + step_ms * seq, line(seq, step_ms)) for seq in range(1, 301))
    steps = {
        round(later.time_s - frame.time_s, 3)
        for frame, later in zip(frames(told), frames(told)[1:], strict=False)
    }
    assert steps == {step_ms / 1000.0}
    (limping,) = [link for link in links(told) if link.limps]
    assert limping.text.startswith(
        f"It sends every {step_ms / 1000.0:.3g} s, the bench file says 0.5 s."
    )


def test_jitter_of_four_fifths_is_no_wrong_rate_and_moves_no_sample() -> None:
    rng = random.Random(5)
    pieces = [
        (1000 + STEP_MS * seq + rng.randrange(round(0.8 * STEP_MS)), line(seq))
        for seq in range(1, 400)
    ]
    told = lived(pieces)
    assert not [link for link in links(told) if link.limps]
    times_s = [frame.time_s for frame in frames(told)]
    # The first may have come late by all of its jitter; the smallest delay is learnt from then on.
    settled = times_s[100:]
    steps = [later - time_s for time_s, later in zip(settled, settled[1:], strict=False)]
    assert min(steps) >= 0.498
    assert max(steps) <= 0.502


def test_a_board_whose_own_beat_jitters_is_timed_by_its_own_stamps() -> None:
    rng = random.Random(6)
    stamps = [STEP_MS * seq + rng.randrange(-200, 200) for seq in range(1, 300)]
    told = lived((1000 + at, sample(seq, at)) for seq, at in enumerate(stamps, start=1))
    times_s = [round(1000.0 * frame.time_s) for frame in frames(told)]
    assert times_s == [1000 + at for at in stamps]
    assert not [link for link in links(told) if link.limps]


def test_a_line_that_comes_byte_by_byte_is_read() -> None:
    pieces = [
        (at + place // 8, data[place : place + 1])
        for at, data in clean(20)
        for place in range(len(data))
    ]
    told = lived(pieces)
    assert [frame.values for frame in frames(told)] == [f.values for f in frames(lived(clean(20)))]
    assert counts(told).damaged == 0


@pytest.mark.parametrize("place", [1, 20, 41])
def test_a_stall_of_ten_seconds_inside_a_line_loses_the_port_for_that_long_only(place: int) -> None:
    first, second = line(1), line(2)
    told = lived(
        [
            (1500, first + second[:place]),
            *((at, b"") for at in range(2000, 11_500, 500)),
            (11_500, second[place:]),
            (12_000, line(22)),
        ]
    )
    assert [link.up for link in links(told)] == [True, False, True]
    assert [frame.values for frame in frames(told)] == [
        frame.values for frame in frames(lived([(1500, first), (2000, second), (12_000, line(22))]))
    ]
    assert counts(told).damaged == 0


def test_the_rest_of_a_line_that_never_comes_is_no_sample() -> None:
    told = lived([(1500, line(1) + line(2)[:30]), (12_000, line(3) + line(4))])
    assert [frame.values[0] for frame in frames(told)] == [
        frame.values[0] for frame in frames(lived([(1500, line(1) + line(3) + line(4))]))
    ]
    assert counts(told).lost == 1


@pytest.mark.parametrize("begin", [65_530, 2**32 // STEP_MS - 5])
def test_counters_that_wrap_lose_and_repeat_nothing(begin: int) -> None:
    told = lived((1000 + STEP_MS * (seq - begin), line(seq)) for seq in range(begin, begin + 20))
    assert len(frames(told)) == 20
    assert (counts(told).lost, counts(told).old, counts(told).duplicates) == (0, 0, 0)
    times_s = [frame.time_s for frame in frames(told)]
    assert times_s == [1.0 + 0.5 * number for number in range(20)]


def test_a_board_that_starts_anew_again_and_again_is_followed_each_time() -> None:
    pieces = []
    for boot in range(1, 6):
        begin_ms = 20_000 * boot
        pieces.append((begin_ms, hello(boot_id=f"{boot:08X}")))
        pieces += [(begin_ms + STEP_MS * seq, line(seq)) for seq in range(1, 30)]
    told = lived(pieces)
    assert len(frames(told)) == 5 * 29
    assert counts(told).restarts == 5
    times_s = [frame.time_s for frame in frames(told)]
    assert times_s == sorted(set(times_s))
    assert not [link for link in links(told) if link.limps]


@pytest.mark.parametrize("noise", [b"\x00", b"\xff", b"@", b"\n", b"@S,1,"])
def test_the_second_good_line_after_a_megabyte_of_noise_is_read(noise: bytes) -> None:
    port = board()
    port.feed(hello() + line(1), 1500)
    for _ in range(256):
        port.feed(noise * (4096 // len(noise)), 2000)
    told = port.feed(line(2) + line(3) + line(4), 3000)
    assert len(frames(told)) >= 2
