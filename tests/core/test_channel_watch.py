"""When a channel blanks, when it is at fault, and when it is believed again."""

from __future__ import annotations

import pytest

from firmware_host.core.channel_watch import ChannelWatch, FaultFound
from firmware_host.model.channels import channel_named
from firmware_host.model.samples import Reason

FAST_S, SLOW_S = 0.1, 2.0


def watch() -> ChannelWatch:
    return ChannelWatch(channel_named("part1"), 0.0)


def spoken(at_s: float = 100.0) -> ChannelWatch:
    one = watch()
    one.take(at_s, 293.15, None)
    return one


def block_mean(one: ChannelWatch, now_s: float = 130.0, period_s: float = 0.5) -> float | None:
    one.close_block(now_s, period_s)
    return one.mean


@pytest.mark.parametrize(
    ("period_s", "blank_s"), [(FAST_S, 1.0), (1.0 / 3.0, 1.0), (0.5, 1.5), (SLOW_S, 6.0)]
)
def test_a_channel_blanks_after_three_periods_or_a_second(period_s: float, blank_s: float) -> None:
    one = spoken()
    assert one.believed(100.0 + blank_s, period_s) == 293.15
    assert one.believed(100.0 + blank_s + 0.001, period_s) is None
    assert one.fault is None


@pytest.mark.parametrize(("period_s", "fault_s"), [(FAST_S, 5.0), (0.5, 5.0), (SLOW_S, 20.0)])
def test_a_channel_is_at_fault_after_ten_periods_or_five_seconds(
    period_s: float, fault_s: float
) -> None:
    one = spoken()
    assert one.look(100.0 + fault_s, period_s) is None
    found = FaultFound("silent", 100.0, None)
    assert one.look(100.0 + fault_s + 0.001, period_s) == found
    assert one.fault == found


def test_a_channel_that_never_spoke_is_silent_since_watching_began() -> None:
    one = ChannelWatch(channel_named("shop"), 40.0)
    assert one.look(45.0, FAST_S) is None
    assert one.look(46.0, FAST_S) == FaultFound("silent", 40.0, None)


def test_a_fault_is_found_once() -> None:
    one = spoken()
    assert [one.look(106.0 + i, FAST_S) is None for i in range(4)] == [False, True, True, True]


@pytest.mark.parametrize(
    ("reason", "kind"),
    [
        (Reason.DRIVER, "driver_error"),
        (Reason.OPEN, "open"),
        (Reason.SHORT, "short"),
        (Reason.OUT_OF_RANGE, "out_of_range"),
        (Reason.DEAD_BUS, "dead_bus"),
        (Reason.UNREADABLE, "unreadable"),
    ],
)
def test_two_fault_words_in_a_row_are_believed_at_once(reason: Reason, kind: str) -> None:
    one = spoken()
    one.take(100.5, None, reason)
    assert one.look(101.0, 0.5) is None
    one.take(101.0, None, reason)
    assert one.look(102.0, 0.5) == FaultFound(kind, 100.5, None)
    assert one.believed(102.0, 0.5) is None


def test_a_single_fault_word_between_readings_is_no_fault() -> None:
    one = spoken()
    for i in range(20):
        one.take(101.0 + i, None, Reason.OPEN)
        one.take(101.5 + i, 293.15, None)
        assert one.look(102.0 + i, 0.5) is None


def test_a_blank_cell_is_no_second_fault_word() -> None:
    one = spoken()
    one.take(100.5, None, Reason.OPEN)
    one.take(101.0, None, Reason.NOT_READ)
    assert one.look(102.0, 0.5) is None


def test_two_different_fault_words_are_not_the_same_word_twice() -> None:
    one = spoken()
    one.take(100.5, None, Reason.OPEN)
    one.take(101.0, None, Reason.SHORT)
    assert one.look(102.0, 0.5) is None
    one.take(101.5, None, Reason.SHORT)
    assert one.look(102.0, 0.5) == FaultFound("short", 101.0, None)


def test_blank_cells_alone_are_silence() -> None:
    one = spoken()
    for i in range(1, 11):
        one.take(100.0 + 0.5 * i, None, Reason.NOT_READ)
        assert one.look(100.0 + 0.5 * i, 0.5) is None
    assert one.look(106.0, 0.5) == FaultFound("silent", 100.0, None)


def broken() -> ChannelWatch:
    one = spoken()
    one.look(110.0, 0.5)
    assert one.fault == FaultFound("silent", 100.0, None)
    return one


def test_a_fault_is_over_once_readings_came_for_five_seconds() -> None:
    one = broken()
    for i in range(11):
        one.take(120.0 + 0.5 * i, 294.0, None)
        assert one.believed(120.0 + 0.5 * i, 0.5) is None
        if i < 10:
            assert one.look(120.0 + 0.5 * i, 0.5) is None
    assert one.look(125.0, 0.5) == FaultFound("silent", 100.0, 120.0)
    assert one.believed(125.0, 0.5) == 294.0


def test_a_bad_word_on_the_way_back_starts_the_five_seconds_afresh() -> None:
    one = broken()
    for i in range(8):
        one.take(120.0 + 0.5 * i, 294.0, None)
    one.take(124.0, None, Reason.OPEN)
    for i in range(9):
        one.take(124.5 + 0.5 * i, 294.0, None)
        assert one.look(124.5 + 0.5 * i, 0.5) is None
    one.take(129.5, 294.0, None)
    assert one.look(129.5, 0.5) == FaultFound("silent", 100.0, 124.5)


def test_two_readings_with_a_silence_between_do_not_end_a_fault() -> None:
    one = broken()
    one.take(120.0, 294.0, None)
    assert [one.look(120.0 + i, 0.5) for i in range(5)] == [None] * 5
    one.take(125.5, 294.0, None)
    assert one.look(126.0, 0.5) is None


def test_a_silence_that_ended_is_not_told_again_as_dropouts() -> None:
    one = spoken()
    kinds = []
    for i in range(1, 200):
        blank = i < 40
        one.take(100.0 + i, None if blank else 293.15, Reason.NOT_READ if blank else None)
        found = one.look(100.0 + i, 1.0)
        kinds += [(found.kind, found.end_s)] if found else []
    assert kinds == [("silent", None), ("silent", 140.0)]


def test_a_block_is_the_mean_of_what_was_believed_in_it() -> None:
    one = watch()
    for at_s, value in ((1.0, 291.0), (2.0, None), (3.0, 293.0)):
        one.take(at_s, value, None if value else Reason.NOT_READ)
    assert block_mean(one) == 292.0
    assert block_mean(one) is None


def test_a_channel_read_every_ten_seconds_is_slow_and_not_silent() -> None:
    """Every second block is empty then; it keeps the newest reading until it would be blank."""
    one = spoken(100.0)
    assert block_mean(one, 105.0, 10.0) == 293.15
    assert block_mean(one, 110.0, 10.0) == 293.15
    assert block_mean(one, 130.0, 10.0) == 293.15
    assert block_mean(one, 135.0, 10.0) is None


def test_a_faulty_channel_keeps_its_mean_for_its_fellows_but_is_blind() -> None:
    one = broken()
    one.close_block(118.0, 0.5)
    one.take(120.0, 294.0, None)
    assert block_mean(one) == 294.0
    assert one.blind


def test_a_span_that_nobody_watched_is_no_silence() -> None:
    one = spoken()
    one.forgive(500.0)
    assert one.look(505.0, 0.5) is None
    assert one.believed(500.0, 0.5) is None
    assert one.look(506.0, 0.5) == FaultFound("silent", 500.0, None)


def test_the_view_says_why_there_is_no_value_and_how_old_the_last_is() -> None:
    one = watch()
    assert (one.view(1.0, 0.5).value, one.view(1.0, 0.5).age_s) == (None, None)
    one = spoken()
    shown = one.view(100.5, 0.5)
    assert (shown.value, shown.age_s, shown.fault) == (293.15, 0.5, None)
    shown = one.view(103.0, 0.5)
    assert (shown.value, shown.age_s, shown.fault) == (None, 3.0, "silent")
