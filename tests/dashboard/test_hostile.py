"""Text from outside never steers the terminal, is never markup, and never crashes a look."""

from __future__ import annotations

import unicodedata
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from dashboard.once import as_text
from firmware_host.model.commands import AcknowledgeCommand, Answer
from firmware_host.model.snapshot import ChannelView, LinkView, Snapshot
from tests.dashboard.parts import LOST, SNAPSHOT, TREND, Desk, at_desk, snapshot

HOSTILE = (
    "[/b] part",
    "[red]a [@click=app.bell()]b[/]",
    "\x1b]52;c;ZXZpbA==\x07",
    "\x1b[2J\x1b[31mred",
    "\x9b2J\x90q\x9c",
    "a\u202eb\u2066c\u200bd\ufeff",
    "line\nbreak\r\ttab\x00nul\x7f",
    "\ud800\udfff",
    "\u8239" * 60,
    "x" * 5000,
    "e\u0301" * 40,
    "$var \\[esc {brace} %s",
)


def dirty(text: str) -> Snapshot:
    """Put a text wherever a snapshot holds one."""
    said = snapshot(
        alarms=(
            replace(
                LOST,
                id=text,
                name=text,
                channel=text,
                text=text,
                action=text,
                priority=text,
            ),
        ),
        channels=(
            ChannelView(name=text, value=None, age_s=None, fault=text),
            ChannelView(name="bag", value=5000.0, age_s=0.0, fault=None),
        ),
        drop_rule=text,
        usual_mark=text,
    )
    link = LinkView(name=text, up=False, text=text, frames=0, damaged=0, lost=0)
    return replace(said, part=text, bench=text, folder=text, zero_wall=text, links=(link,))


def steering(text: str) -> list[str]:
    return [c for c in text if c != "\n" and unicodedata.category(c)[0] == "C"]


@pytest.mark.parametrize("text", HOSTILE)
def test_on_the_panel_no_text_steers_or_crashes(text: str) -> None:
    async def act(desk: Desk) -> None:
        desk.link.say(dirty(text))
        desk.link.answer = Answer(ok=False, text=text)
        assert steering(await desk.look()) == []
        assert steering(await desk.press("a")) == []
        assert steering(await desk.press("space")) == []
        desk.clock.turn(10.0)
        await desk.look()
        assert steering(await desk.look(0.5)) == []
        assert desk.link.sent[0] == AcknowledgeCommand(id=text, by="panel")

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
        assert steering(text) == []

    at_desk(act)


@settings(max_examples=60, deadline=None)
@given(st.text(alphabet=st.characters(), max_size=60))
def test_as_text_no_text_steers_and_no_line_is_too_long(text: str) -> None:
    shown = as_text(dirty(text), TREND, ascii_only=True)
    assert steering(shown) == []
    assert shown.isascii()
    assert max(map(len, shown.split("\n"))) <= 80
