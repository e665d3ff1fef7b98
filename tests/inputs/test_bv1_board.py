"""What a board's bytes mean: nothing twice, nothing silently lost, restarts followed."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from firmware_host.inputs.board_clock import BoardClock
from firmware_host.inputs.bv1_board import UNHEARD_RESTART, Bv1Board
from firmware_host.inputs.messages import Arrived, PortCounts, PortMessage
from firmware_host.model.samples import Frame, LinkChanged, Reason
from hardware.frames import encode_command
from tests.inputs.boards import HALF_BAR, RAWS, hello, port_channels, sample

GOOD = ((49997.7, 298.15), (None, None))


def board_at(begin_ms: int = 0, period_s: float = 0.5) -> Bv1Board:
    return Bv1Board(0, port_channels(period_s=period_s), BoardClock(), begin_ms, 1.0)


def frames(told: list[PortMessage]) -> list[Frame]:
    return [message.frame for message in told if isinstance(message, Arrived)]


def links(told: list[PortMessage]) -> list[tuple[bool, str]]:
    return [(message.up, message.text) for message in told if isinstance(message, LinkChanged)]


def counts(told: list[PortMessage]) -> PortCounts:
    return [message for message in told if isinstance(message, PortCounts)][-1]


def test_a_sample_becomes_a_frame_with_its_raws_and_arrival() -> None:
    told = board_at().feed(sample(1, 1000), 2000)
    assert told == [
        LinkChanged(2.0, 0, up=True, text="the board answers."),
        Arrived(frame=Frame(2.0, 0, *GOOD), raw=",".join(RAWS), arrived_s=2.0),
        PortCounts(group=0, frames=1),
    ]


def test_half_a_line_after_opening_is_no_damage() -> None:
    board = board_at()
    told = board.feed(sample(1, 1000)[7:] + sample(2, 1500), 2000)
    assert [frame.time_s for frame in frames(told)] == [2.0]
    assert counts(told).damaged == 0


def test_garbage_before_the_first_line_feed_is_dropped_in_any_chunking() -> None:
    board = board_at()
    told = [board.feed(bytes([byte]), 2000) for byte in b"\x00\xff@12" + b"\n" + sample(5, 1000)]
    assert [len(frames(part)) for part in told if frames(part)] == [1]


def test_a_line_that_is_damaged_is_counted_and_its_sample_is_lost() -> None:
    board = board_at()
    bad = sample(2, 1500).replace(b"S,2", b"S,3")
    told = board.feed(sample(1, 1000) + bad + sample(3, 2000), 3000)
    assert counts(told) == PortCounts(group=0, frames=2, damaged=1, lost=1)


def test_a_duplicate_and_an_old_line_are_dropped_and_counted() -> None:
    board = board_at()
    lines = [sample(10, 1000), sample(10, 1000), sample(9, 500), sample(11, 1500)]
    told = board.feed(b"".join(lines), 5000)
    assert [frame.time_s for frame in frames(told)] == [4.5, 5.0]
    assert counts(told) == PortCounts(group=0, frames=2, duplicates=1, old=1)


def test_the_sequence_and_the_clock_go_through_their_wraps() -> None:
    board = board_at()
    last_ms = 2**32 - 200
    told = board.feed(sample(65535, last_ms) + sample(0, 300), 9000)
    assert [frame.time_s for frame in frames(told)] == [8.5, 9.0]
    assert counts(told) == PortCounts(group=0, frames=2)


def test_a_new_boot_id_is_counted_told_and_followed_at_once() -> None:
    board = board_at()
    board.feed(hello() + sample(400, 200_000), 1000)
    told = board.feed(hello(boot_id="0000AB02") + sample(0, 40) + sample(1, 540), 9000)
    assert links(told) == [
        (True, "board B7 answers, firmware 1.2. It began anew, for the 1. time in this watch.")
    ]
    assert [frame.time_s for frame in frames(told)] == [8.5, 9.0]
    assert counts(told).restarts == 1


def test_samples_before_a_restart_in_one_piece_keep_their_time() -> None:
    board = board_at()
    board.feed(hello() + sample(1, 1000), 1000)
    piece = sample(2, 1500) + hello(boot_id="0000AB02") + sample(0, 40)
    assert [frame.time_s for frame in frames(board.feed(piece, 2200))] == [1.5, 2.2]


def test_a_first_hello_that_is_a_boots_restarts_the_sequence() -> None:
    board = board_at()
    board.feed(sample(400, 200_000), 1000)
    told = board.feed(hello() + sample(0, 40), 3000)
    assert [frame.time_s for frame in frames(told)] == [3.0]


def test_a_first_hello_that_is_an_answer_restarts_nothing() -> None:
    board = board_at()
    board.feed(sample(400, 200_000), 1000)
    told = board.feed(hello() + sample(401, 200_500), 1600)
    assert [frame.time_s for frame in frames(told)] == [1.5]


def test_a_restart_whose_hello_was_lost_is_asked_about_and_at_last_believed() -> None:
    board = board_at()
    board.feed(hello() + sample(400, 200_000), 1000)
    board.questions(1000)
    told: list[PortMessage] = []
    for seq in range(UNHEARD_RESTART + 1):
        told += board.feed(sample(seq, 40 + 500 * seq), 2000 + 500 * seq)
        if seq == 0:
            assert board.questions(3000) == [encode_command("?H")]
    assert [frame.time_s for frame in frames(told)] == [6.5, 7.0]
    assert counts(told).restarts == 1


def test_a_hello_that_disagrees_names_the_channel_and_nothing_is_guessed() -> None:
    board = board_at()
    told = board.feed(hello(kinds=("adc16s", "rtd31865", "adc16s")) + sample(1, 1000), 1000)
    ((up, text),) = links(told)
    assert up
    assert "Not read: channel part1: index = 1: the bench file says tc31855" in text
    assert frames(told) == [Frame(1.0, 0, (49997.7, None), (None, Reason.UNREADABLE))]


def test_a_board_whose_every_kind_disagrees_is_no_link() -> None:
    told = board_at().feed(hello(kinds=()) + sample(1, 1000), 1000)
    assert [up for up, _ in links(told)] == [False]
    assert frames(told) == [Frame(1.0, 0, (None, None), (Reason.UNREADABLE,) * 2)]


def test_another_board_on_the_port_is_told() -> None:
    board = board_at()
    board.feed(hello(), 1000)
    ((up, text),) = links(board.feed(hello(boot_id="00000009", uid="C3"), 2000))
    assert up
    assert text.startswith("another board answers: C3, before B7. Check the cable.")


def test_a_board_is_asked_who_it_is_until_it_says_so() -> None:
    board = board_at()
    assert board.questions(0) == [encode_command("?H")]
    assert board.questions(1999) == []
    assert board.questions(2000) == [encode_command("?H")]
    board.feed(hello(), 2100)
    assert board.questions(2100) == [encode_command("R,500")]
    assert board.questions(9000) == []


def test_silence_at_the_limit_is_told_once_and_the_return_too() -> None:
    board = board_at()
    board.feed(hello() + sample(1, 1000), 1000)
    assert links(board.feed(b"", 5999)) == []
    ((up, text),) = links(board.feed(b"", 6000))
    assert not up
    assert text.startswith("the port is open, but nothing good came for 5 s (limit 5 s).")
    assert links(board.feed(b"", 60_000)) == []
    assert links(board.feed(sample(2, 60_500), 60_500)) == [(True, "the board answers.")]


def test_a_slow_board_may_be_silent_for_ten_periods() -> None:
    board = board_at(period_s=2.0)
    board.feed(hello() + sample(1, 1000), 1000)
    assert links(board.feed(b"", 20_999)) == []
    assert [up for up, _ in links(board.feed(b"", 21_000))] == [False]


def test_the_same_trouble_is_told_once() -> None:
    board = board_at()
    assert links(board.lost("gone", 0)) == [(False, "gone")]
    assert board.lost("gone", 500) == []
    assert links(board.lost("busy", 900)) == [(False, "busy")]


def test_counts_are_told_at_most_once_a_second() -> None:
    board = board_at()
    told = [board.feed(sample(seq, 100 * seq), 100 * seq) for seq in range(1, 31)]
    assert sum(isinstance(message, PortCounts) for part in told for message in part) == 3


def test_a_sample_from_before_the_watch_is_dropped() -> None:
    board = board_at(begin_ms=10_000)
    told = board.feed(sample(1, 1000) + sample(2, 1500), 10_200)
    assert [frame.time_s for frame in frames(told)] == [10.2]
    assert board.feed(b"", 12_000) == [PortCounts(group=0, frames=1, old=1)]


@given(st.lists(st.sampled_from([b"\n", b"@", b"S,1", HALF_BAR.encode(), b"\xff", b","])))
def test_any_bytes_leave_the_next_good_line_readable(noise: list[bytes]) -> None:
    board = board_at()
    board.feed(b"".join(noise), 1000)
    told = board.feed(b"\n" + sample(7, 1000), 2000)
    assert len(frames(told)) == 1


@pytest.mark.parametrize("size", [1, 7, 64])
def test_chunking_changes_nothing_but_when_things_are_told(size: int) -> None:
    stream = b"".join(sample(seq, 500 * seq) for seq in range(20))
    board = board_at()
    told: list[PortMessage] = []
    for start in range(0, len(stream), size):
        told += board.feed(stream[start : start + size], 60_000 + start)
    assert len(frames(told)) == 20
