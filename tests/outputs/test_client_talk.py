"""The talk with one client, without a socket."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from firmware_host.model.commands import (
    LONGEST_LINE,
    AcknowledgeCommand,
    Answer,
    MarkCommand,
    TrendAsk,
)
from firmware_host.outputs.client_talk import MOST_OPEN, ClientTalk, RefusedError, parse

PUMP_ON = b'{"mark":{"name":"pump_on","ago_s":120.0}}\n'


def test_a_command_in_pieces_is_one_command() -> None:
    talk = ClientTalk()
    assert list(talk.feed(PUMP_ON[:9])) == []
    assert list(talk.feed(PUMP_ON[9:])) == [MarkCommand(name="pump_on", ago_s=120.0)]


def test_two_commands_and_an_empty_line_in_one_piece() -> None:
    both = PUMP_ON + b'\r\n{"acknowledge":{"id":"vacuum_lost-1","by":"panel"}}\r\n'
    assert list(ClientTalk().feed(both)) == [
        MarkCommand(name="pump_on", ago_s=120.0),
        AcknowledgeCommand(id="vacuum_lost-1", by="panel"),
    ]


def test_what_came_before_nonsense_counts() -> None:
    commands = ClientTalk().feed(PUMP_ON + b"hello\n")
    assert next(commands) == MarkCommand(name="pump_on", ago_s=120.0)
    with pytest.raises(RefusedError, match="not a request: "):
        next(commands)


@pytest.mark.parametrize(
    ("line", "why"),
    [
        (b"{}", "exactly one of ask, mark, plies, acknowledge"),
        (b'{"ask":"snapshot","mark":{"name":"mixed"}}', "exactly one of"),
        (b'{"ask":"everything"}', "Invalid enum value"),
        (b'{"mark":{"name":""}}', "length >= 1"),
        (b'{"mark":{"name":"mixed","ago_s":-1}}', ">= 0"),
        (b'{"mark":{"name":"mixed","ago_s":1e999}}', "not a request"),
        (b"\xff\xfe", "not a request"),
        (b'{"a":' + b"[" * 4000, "not a request"),
        (b"null", "not a request"),
    ],
)
def test_what_is_no_request_is_refused_with_the_reason(line: bytes, why: str) -> None:
    with pytest.raises(RefusedError, match=why):
        parse(line)


@given(st.binary(max_size=300))
def test_any_bytes_are_a_request_or_refused(line: bytes) -> None:
    try:
        parse(line)
    except RefusedError as error:
        assert str(error)


def test_a_line_at_the_limit_is_read_and_one_byte_more_is_refused() -> None:
    talk = ClientTalk()
    padded = PUMP_ON.strip().ljust(LONGEST_LINE)
    assert len(list(talk.feed(padded + b"\n"))) == 1
    assert list(talk.feed(padded)) == []
    with pytest.raises(RefusedError, match="at most 4096 bytes"):
        list(talk.feed(b" "))


def test_more_open_requests_than_allowed_are_refused_until_one_is_answered() -> None:
    talk = ClientTalk()
    assert len(list(talk.feed(PUMP_ON * MOST_OPEN))) == MOST_OPEN
    talk.answer(Answer(ok=True, text="stored"))
    assert len(list(talk.feed(PUMP_ON))) == 1
    with pytest.raises(RefusedError, match="16 requests wait"):
        list(talk.feed(PUMP_ON))


def test_a_slow_client_skips_snapshots_and_gets_the_newest() -> None:
    talk = ClientTalk()
    list(talk.feed(b'{"ask":"stream"}\n'))
    talk.offer(b"first\n")
    talk.offer(b"second\n")
    assert talk.pending == b"first\n"
    talk.pending = b""
    third = b"third\n"
    talk.offer(third)
    assert talk.pending == b"third\n"
    talk.pending = b""
    talk.offer(third)
    assert talk.pending == b""


def test_a_snapshot_asked_for_once_comes_once() -> None:
    talk = ClientTalk()
    list(talk.feed(b'{"ask":"snapshot"}\n'))
    talk.end_of_input()
    assert not talk.done
    talk.offer(b"first\n")
    assert (talk.pending, talk.done) == (b"first\n", False)
    talk.pending = b""
    talk.offer(b"second\n")
    assert (talk.pending, talk.done) == (b"", True)


def test_the_trend_is_a_request_and_no_stream() -> None:
    talk = ClientTalk()
    assert list(talk.feed(b'{"ask":"trend"}\n')) == [TrendAsk()]
    talk.offer(b"snapshot\n")
    assert (talk.pending, talk.open_requests) == (b"", 1)


def test_a_refused_client_is_done_once_it_was_told() -> None:
    talk = ClientTalk()
    list(talk.feed(PUMP_ON))
    talk.refuse("no")
    assert (talk.pending, talk.done) == (b'{"ok":false,"text":"no"}\n', False)
    talk.pending = b""
    assert talk.done
