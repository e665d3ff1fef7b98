"""Text from outside never steers the terminal, is never markup, and never crashes a look."""

from __future__ import annotations

import re
import sys
from concurrent.futures import ThreadPoolExecutor
from contextlib import closing
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from dashboard.once import as_text
from dashboard.plain import plain
from firmware_host.model.commands import AcknowledgeCommand, Answer, MarkCommand
from firmware_host.model.trend import Trend
from tests.dashboard.parts import SNAPSHOT, TREND, Desk, at_desk, dirty
from tests.dashboard.terminal import Terminal
from tests.dashboard.test_client import Bench
from tests.hostile_strings import LISTED, LONE_SURROGATE, LONG, hostile_strings, steering_in

SEQUENCE = re.compile(
    r"\r\n(?=\x1b\[[0-9]+;1H)"  # the library ends a row before it goes to the next
    r"|\x1b(?:\[[0-?]*[ -/]*[@-~]|\][^\x07\x1b]*\x07|[^\[\]])"
)
MOVE = re.compile(r"\x1b\[[0-9]+;[0-9]+H")
WITHIN_S = 120.0
SHORT = LISTED[: -len(LONG)]
SHARES = 6
"""Of the listed texts: each holds some of every sort."""
AT_ONCE = 12
"""Texts in one name: the screen shows the beginnings of more."""


def shown(which: str) -> str:
    """Everything that a panel of such texts sends to its terminal."""
    command = [sys.executable, "-m", "tests.dashboard.panel_of_texts", which]
    with closing(Terminal(command)) as terminal:
        sent = terminal.listen_to_end(WITHIN_S)
        assert terminal.program.wait() == 0, sent[-2000:]
    return sent.decode("utf-8")


def sequences(sent: str) -> set[str]:
    """Control sequences as they were sent; where the cursor goes is left open."""
    return {MOVE.sub("move", sequence) for sequence in SEQUENCE.findall(sent)}


def test_on_a_terminal_no_control_byte_comes_from_a_text() -> None:
    with ThreadPoolExecutor() as both:  # each only waits for its own terminal
        ours, all_of_it = both.map(shown, ("harmless", "hostile"))
    assert len(all_of_it) > 500 * 1000
    assert sequences(all_of_it) <= sequences(ours)
    assert steering_in(SEQUENCE.sub("", all_of_it), lines=False) == []


@pytest.mark.campaign
@pytest.mark.parametrize("first", range(SHARES), ids=lambda first: f"{first}of{SHARES}")
def test_on_the_panel_no_press_on_a_hostile_text_steers_or_crashes(first: int) -> None:
    async def act(desk: Desk) -> None:
        for text in (*SHORT[first::SHARES], LONE_SURROGATE):
            desk.link.say(dirty(text))
            desk.link.answer = Answer(ok=False, text=text)
            assert steering_in(await desk.press("a")) == []
            assert desk.link.sent.pop() == AcknowledgeCommand(id=text, by="panel")
            assert steering_in(await desk.press("space")) == []
            desk.clock.turn(10.0)
            await desk.look()
            assert steering_in(await desk.look(0.5)) == []
            marks = [mark.name for mark in desk.link.sent if isinstance(mark, MarkCommand)]
            assert marks == [name for name in (plain(text),) if name]
            desk.link.sent.clear()

    at_desk(act)


def test_markup_in_a_name_is_shown_as_it_was_written() -> None:
    async def act(desk: Desk) -> None:
        desk.link.say(replace(SNAPSHOT, part="[red]hatch[/red]"))
        assert " [red]hatch[/red]  " in await desk.look()

    at_desk(act)


def test_the_reason_why_nothing_answers_is_made_plain_too() -> None:
    async def act(desk: Desk) -> None:
        desk.link.heard = replace(desk.link.heard, trouble="\x1b[2Jgone\u202e [/b]")
        text = await desk.look()
        assert "[2Jgone [/b]" in text
        assert steering_in(text) == []

    at_desk(act)


def hold_as_text(text: str, trend: Trend | None = None) -> None:
    assert steering_in(as_text(dirty(text), trend)) == []
    seven_bit = as_text(dirty(text), trend, ascii_only=True)
    assert steering_in(seven_bit) == []
    assert seven_bit.isascii()
    assert max(map(len, seven_bit.split("\n"))) <= 80


def test_as_text_no_hostile_text_steers_and_no_line_is_too_long() -> None:
    for number, text in enumerate((*hostile_strings(), LONE_SURROGATE)):
        hold_as_text(text, TREND if number < len(LISTED) else None)


@settings(max_examples=60, deadline=None)
@given(st.text(alphabet=st.characters(), max_size=60))
def test_as_text_no_text_at_all_steers(text: str) -> None:
    hold_as_text(text)


def test_once_sends_nothing_but_plain_lines_to_a_terminal(tmp_path: Path) -> None:
    bench = Bench(tmp_path / "bench.sock")
    command = [
        sys.executable,
        "-m",
        "dashboard",
        "--once",
        "--socket",
        str(tmp_path / "bench.sock"),
    ]
    try:
        for text in (
            *("".join(SHORT[at : at + AT_ONCE]) for at in range(0, len(SHORT), AT_ONCE)),
            *LONG,
        ):
            bench.server.publish(dirty(text))
            with closing(Terminal(command)) as terminal:
                sent = terminal.listen_to_end(WITHIN_S)
                assert terminal.program.wait() == 0, sent
            lines = sent.decode("utf-8").split("\r\n")
            assert len(lines) > 20
            assert steering_in("".join(lines), lines=False) == []
    finally:
        bench.server.close()
