"""Wrapping counters, at each edge and one step either side."""

import pytest

from hardware.sequence import Order, SequenceCheck, TimeUnwrap, Verdict

NEXT = Verdict(order=Order.NEXT)
OLD = Verdict(order=Order.OLD)


def after(last: int) -> SequenceCheck:
    check = SequenceCheck()
    check.take(last)
    return check


@pytest.mark.parametrize(
    ("last", "seq", "verdict"),
    [
        (7, 8, NEXT),
        (7, 7, Verdict(order=Order.DUPLICATE)),
        (7, 9, Verdict(order=Order.GAP, lost=1)),
        (7, 6, OLD),
        (65535, 0, NEXT),
        (65534, 1, Verdict(order=Order.GAP, lost=2)),
        (0, 65535, OLD),
        (0, 32767, Verdict(order=Order.GAP, lost=32766)),
        (0, 32768, OLD),
        (40000, 7231, Verdict(order=Order.GAP, lost=32766)),
        (40000, 7232, OLD),
    ],
)
def test_a_sequence_number_is_judged_by_its_distance(last: int, seq: int, verdict: Verdict) -> None:
    assert after(last).take(seq) == verdict


@pytest.mark.parametrize("first", [0, 1, 40000, 65535])
def test_the_first_line_is_taken_whatever_its_number(first: int) -> None:
    assert SequenceCheck().take(first) == NEXT


def test_only_next_and_gap_are_used() -> None:
    used = [order for order in Order if Verdict(order=order).is_new]
    assert used == [Order.NEXT, Order.GAP]


def test_an_old_line_does_not_move_the_sequence() -> None:
    check = after(100)
    check.take(90)
    assert check.take(101) == NEXT


def test_a_whole_turn_of_the_counter_loses_nothing() -> None:
    check = SequenceCheck()
    assert {check.take(n % 65536) for n in range(65536 + 10)} == {NEXT}


def test_old_lines_are_counted_until_one_is_new() -> None:
    check = after(500)
    for seq in (0, 1, 2):
        check.take(seq)
    assert check.olds_in_a_row == 3
    check.take(501)
    assert check.olds_in_a_row == 0


def test_after_a_restart_the_sequence_begins_anywhere() -> None:
    check = after(500)
    check.take(3)
    check.restart()
    assert check.olds_in_a_row == 0
    assert check.take(0) == NEXT


def test_the_clock_of_the_board_runs_on_through_its_wrap() -> None:
    clock = TimeUnwrap()
    taken = [clock.take(t_ms) for t_ms in (4294966796, 4294967295, 0, 499)]
    assert taken == [4294966796, 4294967295, 4294967296, 4294967795]


def test_the_second_wrap_is_counted_too() -> None:
    clock = TimeUnwrap()
    taken = [clock.take(n * 1_000_000_000 % 4294967296) for n in range(10)]
    assert taken == [n * 1_000_000_000 for n in range(10)]


def test_time_that_runs_backwards_is_not_a_wrap() -> None:
    clock = TimeUnwrap()
    clock.take(5_000_000)
    assert clock.take(4_999_999) is None
    assert clock.take(1000) is None
    assert clock.take(5_000_500) == 5_000_500


def test_half_the_range_is_the_longest_step_forward() -> None:
    clock = TimeUnwrap()
    clock.take(10)
    assert clock.take(10 + 2147483648) is None
    assert clock.take(10 + 2147483647) == 2147483657


def test_the_same_time_again_is_no_step() -> None:
    clock = TimeUnwrap()
    assert [clock.take(1000), clock.take(1000)] == [1000, 1000]


def test_after_a_restart_time_begins_at_its_own_zero() -> None:
    clock = TimeUnwrap()
    clock.take(5_000_000)
    clock.restart()
    assert clock.take(120) == 120
