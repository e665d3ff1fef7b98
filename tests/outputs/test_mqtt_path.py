"""When somebody is being told, and when nobody is: on a time that is handed over."""

from __future__ import annotations

import random

import pytest

from firmware_host.outputs.mqtt_path import (
    GOOD_HELD_S,
    LASTED_S,
    LONGEST_PAUSE_S,
    LONGEST_REFUSED_PAUSE_S,
    SILENT_S,
    UNCONFIRMED_S,
    Ending,
    PathWatch,
    Pauses,
)

GONE = Ending(why="nothing listens there; start the broker", is_refusal=False)
REFUSED = Ending(why="it refuses user 'bench'", is_refusal=True)
TOPIC = "bagvigil/north-bench/alarm/vacuum_lost"


def watch(now_s: float = 0.0) -> PathWatch:
    return PathWatch("127.0.0.1:1883", now_s)


def working(now_s: float = 0.0) -> PathWatch:
    """A path that was found good at `now_s`."""
    path = watch(now_s - GOOD_HELD_S)
    path.connected(now_s - GOOD_HELD_S)
    path.confirmed(TOPIC)
    path.look(now_s - GOOD_HELD_S, None)
    path.heard(now_s)
    assert path.look(now_s, None) == (
        True,
        "the broker at 127.0.0.1:1883 confirms what it is told.",
    )
    return path


def test_a_broker_that_was_never_there_is_missed_after_a_while() -> None:
    path = watch()
    path.ended(GONE)
    assert path.look(SILENT_S, None) is None
    assert path.look(SILENT_S + 0.01, None) == (
        False,
        "Nobody is told: no way to the broker at 127.0.0.1:1883: "
        "nothing listens there; start the broker.",
    )


def test_a_connection_without_a_confirmation_is_no_path() -> None:
    path = watch()
    path.connected(1.0)
    assert path.look(100.0, None) is None


def test_a_path_is_believed_once_a_confirmation_has_held() -> None:
    path = watch()
    path.connected(1.0)
    path.confirmed(TOPIC)
    assert path.look(1.0, None) is None
    assert path.look(1.0 + GOOD_HELD_S, None) is not None


def test_a_short_loss_is_not_worth_a_word() -> None:
    path = working(10.0)
    path.ended(GONE)
    assert path.look(10.0 + SILENT_S, None) is None
    path.connected(10.0 + SILENT_S)
    path.confirmed(TOPIC)
    assert path.look(20.0, None) is None


def test_a_broker_that_was_silent_before_it_was_lost_is_missed_at_once() -> None:
    path = working(10.0)
    path.ended(Ending(why="it went away (Keep alive timeout)", is_refusal=False))
    word = path.look(10.0 + SILENT_S + 0.01, None)
    assert word is not None
    assert not word[0]


def test_a_publish_that_nobody_confirms_is_a_dead_path_whatever_the_connection_says() -> None:
    path = working(10.0)
    path.heard(10.0 + UNCONFIRMED_S)
    assert path.look(10.0 + UNCONFIRMED_S, 10.0) is None
    assert path.look(10.1 + UNCONFIRMED_S, 10.0) == (
        False,
        "Nobody is told: the broker at 127.0.0.1:1883 has confirmed nothing for 10 s (limit 10 s). "
        "Check it and the network.",
    )


def test_a_refused_publish_is_a_dead_path_until_that_topic_is_taken() -> None:
    path = working(10.0)
    path.refused(TOPIC, "Not authorized")
    path.confirmed("bagvigil/north-bench/state")
    assert path.look(10.0, None) == (
        False,
        f"The broker at 127.0.0.1:1883 does not take {TOPIC}: Not authorized. "
        "Let this bench write below bagvigil/north-bench/# in the broker's access list.",
    )
    path.confirmed(TOPIC)
    path.look(11.0, None)
    assert path.look(11.0 + GOOD_HELD_S, None) is not None


def test_refused_credentials_are_said_at_once_and_stay_said_while_nobody_answers() -> None:
    path = watch()
    path.ended(REFUSED)
    word = path.look(0.1, None)
    path.ended(GONE)
    assert word == (
        False,
        "Nobody is told: no way to the broker at 127.0.0.1:1883: it refuses user 'bench'.",
    )
    assert path.look(100.0, None) is None


def test_a_record_that_cannot_be_read_is_a_dead_path_too() -> None:
    path = working(10.0)
    path.own_trouble("event 2 does not fit its check")
    assert path.look(10.0, None) == (False, "Nobody is told: event 2 does not fit its check")


def test_an_absent_broker_is_tried_again_within_ten_seconds_for_ever() -> None:
    pauses = Pauses(random.Random(7))
    tried = [pauses.next_s(is_refusal=False) for _ in range(50)]
    assert 0.5 < tried[0] < 2.0
    assert max(tried) <= LONGEST_PAUSE_S


def test_a_broker_that_says_no_is_asked_at_most_twenty_times_an_hour() -> None:
    for seed in range(20):
        pauses = Pauses(random.Random(seed))
        passed_s, tries = 0.0, 0
        while passed_s < 3600.0:
            tries += 1
            passed_s += pauses.next_s(is_refusal=True)
        assert tries <= 20
        assert pauses.next_s(is_refusal=True) >= LONGEST_REFUSED_PAUSE_S


def test_many_benches_do_not_try_in_step() -> None:
    tried = [Pauses(random.Random(seed)).next_s(is_refusal=False) for seed in range(100)]
    assert max(tried) - min(tried) > 0.5


@pytest.mark.parametrize(("lasted_s", "is_quick"), [(LASTED_S, True), (LASTED_S - 0.1, False)])
def test_a_connection_that_lasted_is_followed_by_a_quick_try(
    lasted_s: float, *, is_quick: bool
) -> None:
    pauses = Pauses(random.Random(7))
    for _ in range(10):
        pauses.next_s(is_refusal=False)
    assert (pauses.next_s(is_refusal=False, lasted_s=lasted_s) < 2.0) is is_quick
