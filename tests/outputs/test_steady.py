"""Bad news at once, good news late, each once."""

from __future__ import annotations

from firmware_host.outputs.steady import Steady


def test_bad_news_is_said_at_once_and_once() -> None:
    word = Steady(5.0, said=True)
    assert [word.look(1.0, good=False), word.look(2.0, good=False)] == [False, None]


def test_good_news_is_said_once_it_has_held() -> None:
    word = Steady(5.0, said=False)
    assert [word.look(now_s, good=True) for now_s in (1.0, 5.9, 6.0, 7.0)] == [
        None,
        None,
        True,
        None,
    ]


def test_good_news_that_was_interrupted_begins_to_hold_anew() -> None:
    word = Steady(5.0, said=False)
    word.look(1.0, good=True)
    word.look(4.0, good=False)
    assert [word.look(now_s, good=True) for now_s in (5.0, 9.9, 10.0)] == [None, None, True]


def test_where_nothing_was_said_yet_either_word_is_new() -> None:
    assert Steady(5.0, said=None).look(0.0, good=False) is False
    assert Steady(0.0, said=None).look(0.0, good=True) is True
