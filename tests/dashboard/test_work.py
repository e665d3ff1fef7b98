"""The work clock's line, plies by the big key, and the dose that is asked for."""

from __future__ import annotations

from dataclasses import replace

import pytest

from dashboard.shown import text_of
from dashboard.widgets.dose_page import refused
from dashboard.work_words import work_line
from firmware_host.model.commands import Answer, MarkCommand, PliesCommand
from firmware_host.model.events import Phase
from firmware_host.model.snapshot import Snapshot, WorkView
from tests.dashboard.parts import CHANNELS, WORK, Desk, at_desk, snapshot

FIVE = replace(WORK, plies=5, plies_laid=2, next_ply="0.19 m2 200 g/m2")


def working(work: WorkView) -> Snapshot:
    return snapshot(Phase.WORKING, time_s=800.0, work=work)


def line(work: WorkView, now_s: float = 800.0) -> str:
    return "|".join(text_of(one) for one in work_line(working(work), now_s))


def test_the_line_names_the_next_ply_the_second_cup_and_the_dose() -> None:
    full = replace(FIVE, second_cup_by_s=1100.0, poured_percent=0.98, poured_doubt="under 1")
    assert line(full) == (
        " work        ~ dosed 0.98 %, under 1  ply 3/5: 0.19 m2 200 g/m2  cup 2 at 08:18"
    )
    assert len(line(full)) <= 80
    assert "~ cup 2 due since 08:18" in line(full, 1200.0)
    assert "cup 2 mixed 08:15, clock by cup 1" in line(replace(full, second_cup_s=900.0))
    assert line(replace(FIVE, plies_laid=5)) == " work        all 5 plies laid"


def test_a_job_without_plies_cups_and_dose_has_no_line() -> None:
    assert line(WORK) == ""


def test_the_line_stays_until_the_last_smoothing_and_goes_with_the_pour() -> None:
    waiting = snapshot(Phase.WAITING, work=FIVE)
    assert work_line(waiting, 2700.0)
    assert not work_line(waiting, 2701.0)
    assert not work_line(snapshot(Phase.COOLING, work=FIVE), 800.0)
    assert not work_line(snapshot(Phase.PLANNED, work=None), 800.0)


def test_space_counts_a_ply_at_once_and_u_takes_it_back() -> None:
    async def act(desk: Desk) -> None:
        desk.link.say(working(FIVE))
        desk.link.answer = Answer(ok=True, text="3 of 5 plies laid")
        assert "SPACE  ply 3 laid" in await desk.look()
        text = await desk.press("space")
        assert desk.link.sent == [PliesCommand(laid=3)]
        assert "3 of 5 plies laid - u within 10 s takes it back" in text
        desk.link.say(working(replace(FIVE, plies_laid=3)))
        await desk.press("u")
        assert desk.link.sent[1:] == [PliesCommand(laid=2)]
        await desk.look(5.0)
        await desk.press("u")
        assert len(desk.link.sent) == 2

    at_desk(act)


def test_five_presses_are_five_plies_and_a_bounce_is_none() -> None:
    async def act(desk: Desk) -> None:
        for laid in range(5):
            desk.link.say(working(replace(FIVE, plies_laid=laid)))
            await desk.look(2.0)
            await desk.press("space", "space")
        assert desk.link.sent == [PliesCommand(laid=number) for number in range(1, 6)]
        desk.link.say(working(replace(FIVE, plies_laid=5)))
        await desk.look(2.0)
        assert "valve shut in 10 s" in await desk.press("space")

    at_desk(act)


def test_a_ply_after_ten_seconds_is_not_taken_back_by_one_press() -> None:
    async def act(desk: Desk) -> None:
        desk.link.say(working(FIVE))
        await desk.press("space")
        await desk.look(10.5)
        await desk.press("u")
        assert desk.link.sent == [PliesCommand(laid=3)]

    at_desk(act)


def test_dosed_is_asked_for_and_text_that_is_no_dose_is_refused_in_one_line() -> None:
    async def act(desk: Desk) -> None:
        desk.link.say(working(WORK))
        await desk.press("m", "down")
        text = await desk.press("enter")
        assert "Initiator as poured: grams, or drops of your dropper?" in text
        assert "Goggles on. Never onto promoter (violent), never into a wet lay-up." in text
        text = await desk.press(*"52 dops", "enter")
        assert "!! '52 dops' is no dose. Write it as 2.9 g, 52 drops or 1.4 %." in text
        await desk.press(*["backspace"] * 3, *"ops", "backspace", "backspace", "backspace")
        text = await desk.press(*"rops", "enter")
        assert "dosed in 10 s" in text
        await desk.look(11.0)
        assert desk.link.sent == [MarkCommand(name="dosed", ago_s=11.0, note="52 drops")]

    at_desk(act)


def test_enter_alone_is_the_dose_as_planned_and_escape_is_no_mark() -> None:
    async def act(desk: Desk) -> None:
        desk.link.say(working(WORK))
        await desk.press("m", "down")
        await desk.press("enter")
        assert "in 10 s" not in await desk.press("escape")
        await desk.look(2.0)
        await desk.press("m", "down")
        await desk.press("enter")
        assert "dosed in 10 s" in await desk.press("enter")

    at_desk(act)


@pytest.mark.parametrize("text", ["52", "two drops", "-3 g", "0 g", "2.9 kg", "x" * 40])
def test_what_is_no_dose_is_named(text: str) -> None:
    assert refused(text).endswith("is no dose. Write it as 2.9 g, 52 drops or 1.4 %.")
    assert len(refused(text)) <= 76


def test_with_sixteen_channels_every_line_still_fits_a_small_terminal() -> None:
    many = tuple(replace(CHANNELS[0], name=f"part{number}") for number in range(1, 18))

    async def act(desk: Desk) -> None:
        desk.link.say(snapshot(Phase.WORKING, time_s=800.0, work=FIVE, channels=many))
        rows = (await desk.look()).split("\n")
        assert rows[-1].startswith(" SPACE  ply 3 laid")
        assert any("ply 3/5" in row for row in rows)

    at_desk(act)
