"""The panel on a terminal of 80 x 24: what a person reads, and what a press does."""

from __future__ import annotations

from dataclasses import replace

from dashboard.client import NotAnsweredError, NotReachedError
from dashboard.pending import TAKE_BACK_S
from dashboard.widgets.lines import Lines
from firmware_host.model.commands import AcknowledgeCommand, Answer, MarkCommand
from firmware_host.model.events import AlarmState, Phase
from tests.dashboard.parts import FAULT, LOST, SNAPSHOT, Desk, at_desk, snapshot

VALVE_SHUT = MarkCommand(name="valve_shut", ago_s=TAKE_BACK_S)


def bottom(text: str) -> str:
    return text.split("\n")[22].strip()


def test_it_paints_before_anything_is_heard() -> None:
    async def act(desk: Desk) -> None:
        text = await desk.look()
        assert "not connected" in text
        assert "connecting" in text
        desk.link.heard = replace(desk.link.heard, trouble="no bagvigil answers at x.sock")
        assert "no bagvigil answers at x.sock" in await desk.look()

    at_desk(act)


def test_the_waiting_screen_in_seven_bit_characters() -> None:
    async def act(desk: Desk) -> None:
        desk.link.say(SNAPSHOT)
        text = await desk.look()
        assert text.isascii()
        assert text.split("\n") == [
            " kayak hatch cover   waiting  10 min   mixed 25 min ago                   08:30",
            " no alarm",
            "  bag, mbar absolute                      laminate, degC",
            "  ##  ##  ######                          ######  ######      ######",
            "  ##  ##  ##  ##                              ##  ##          ##  ##",
            "  ######  ######                          ######  ######      ##  ##",
            "      ##      ##                          ##          ##      ##  ##",
            "      ##  ######                          ######  ######  ##  ######",
            "  below 150 as wanted, 28.5 inHg vacuum   below 90 as wanted, 5.0 K over shop",
            " bag, mbar, wanted below 150             laminate, C, wanted below 90",
            "1000|      ######                       24|",
            "    |            ######                   |                                    #",
            " 150|------------------###--------------  |                              ######",
            "    |                     ##############  |                  ############",
            "  10|                                   20|      ############",
            "    ++----------------+----------------+  ++-----------------+-----------------+",
            "   08:00            08:00         08:01  08:00             08:00          08:01",
            " drop test   none yet; the verdict on the bag is not proven",
            "             limit 1 inHg in 5 min",
            " unpumped    not known",
            " resin       waiting   gel from 08:50 to 09:20, likely near 09:00; latest 09:30",
            " bag         49 mbar part1     25.0 C    part2 !! open       shop      20.0 C",
            " board answers   recording   no gaps   no broker                    north-bench",
            " SPACE  valve shut   m marks   ? help   q leave",
        ]

    at_desk(act, ascii_only=True)


def test_nothing_new_touches_no_widget() -> None:
    async def act(desk: Desk) -> None:
        desk.link.say(SNAPSHOT)
        await desk.look()
        updates: list[str] = []
        for widget in desk.panel.query(Lines):
            widget.update = lambda *_, name=widget.id, **__: updates.append(str(name))  # type: ignore[method-assign]  # counts
        desk.link.say(replace(SNAPSHOT, stored_rows=3700))
        await desk.look(0.5)
        assert updates == []
        desk.link.say(snapshot(time_s=1860.0))
        await desk.look(0.5)
        assert "header" in updates

    at_desk(act)


def test_the_trends_are_asked_for_at_once_and_then_every_five_seconds_at_most() -> None:
    async def act(desk: Desk) -> None:
        desk.link.say(SNAPSHOT)
        await desk.look()
        assert desk.link.trends == 1
        for _ in range(9):
            await desk.look(0.5)
        assert desk.link.trends == 1
        await desk.look(0.5)
        assert desk.link.trends == 2

    at_desk(act)


def test_old_data_says_its_age_in_the_header() -> None:
    async def act(desk: Desk) -> None:
        desk.link.say(SNAPSHOT)
        assert "old" not in await desk.look(2.0)
        assert "!! data 14 s old" in await desk.look(12.0)

    at_desk(act)


def test_a_mark_waits_visibly_and_is_sent_as_of_the_press() -> None:
    async def act(desk: Desk) -> None:
        desk.link.say(SNAPSHOT)
        await desk.look()
        assert bottom(await desk.press("space")) == "valve shut in 10 s - u takes it back"
        assert bottom(await desk.look(3.0)) == "valve shut in 7 s - u takes it back"
        await desk.look(6.9)
        assert desk.link.sent == []
        desk.clock.turn(0.1)
        assert bottom(await desk.look()) == "valve shut: noted"
        assert desk.link.sent == [VALVE_SHUT]
        await desk.look(5.0)
        assert desk.link.sent == [VALVE_SHUT]

    at_desk(act)


def test_a_mark_taken_back_is_never_sent() -> None:
    async def act(desk: Desk) -> None:
        desk.link.say(SNAPSHOT)
        await desk.press("space")
        desk.clock.turn(9.9)
        assert bottom(await desk.press("u")) == "valve shut taken back"
        await desk.look(20.0)
        assert desk.link.sent == []

    at_desk(act)


def test_a_second_press_while_a_mark_waits_adds_nothing() -> None:
    async def act(desk: Desk) -> None:
        desk.link.say(SNAPSHOT)
        await desk.press("space")
        desk.clock.turn(4.0)
        assert bottom(await desk.press("space")) == "valve shut in 6 s - u takes it back"
        await desk.look(6.0)
        assert desk.link.sent == [VALVE_SHUT]

    at_desk(act)


def test_a_key_that_bounces_within_a_second_counts_once() -> None:
    async def act(desk: Desk) -> None:
        desk.link.say(SNAPSHOT)
        await desk.press("space")
        await desk.press("u")
        desk.clock.turn(0.99)
        assert bottom(await desk.press("space")) == "valve shut taken back"
        desk.clock.turn(1.0)
        assert bottom(await desk.press("space")) == "valve shut in 10 s - u takes it back"

    at_desk(act)


def test_on_a_fast_clock_the_wait_counts_in_the_jobs_time() -> None:
    async def act(desk: Desk) -> None:
        desk.link.say(replace(SNAPSHOT, clock_rate=60.0))
        await desk.press("space")
        await desk.look(10.0)
        assert desk.link.sent == [MarkCommand(name="valve_shut", ago_s=600.0)]

    at_desk(act)


def test_a_mark_that_no_daemon_takes_goes_on_waiting_and_counts_from_the_press() -> None:
    async def act(desk: Desk) -> None:
        desk.link.say(SNAPSHOT)
        desk.link.fails = NotReachedError("no bagvigil answers")
        await desk.press("space")
        await desk.look(10.0)
        assert bottom(await desk.look(1.0)) == (
            "valve shut not sent - u takes it back. No bagvigil answers."
        )
        desk.link.fails = None
        await desk.look(19.0)
        assert desk.link.sent == [MarkCommand(name="valve_shut", ago_s=30.0)]

    at_desk(act)


def test_a_mark_without_an_answer_is_not_sent_twice() -> None:
    async def act(desk: Desk) -> None:
        desk.link.say(SNAPSHOT)
        desk.link.fails = NotAnsweredError("bagvigil went away.")
        await desk.press("space")
        desk.clock.turn(10.0)
        assert bottom(await desk.look()) == (
            "!! valve shut: bagvigil went away. Look whether it counted."
        )
        desk.link.fails = None
        await desk.look(5.0)
        assert desk.link.sent == []

    at_desk(act)


def test_a_refusal_is_shown_with_its_reason() -> None:
    async def act(desk: Desk) -> None:
        desk.link.say(SNAPSHOT)
        desk.link.answer = Answer(ok=False, text="the job is closed")
        await desk.press("space")
        await desk.look(10.0)
        assert bottom(await desk.look(0.0)) == "!! valve shut refused: the job is closed"

    at_desk(act)


def test_another_mark_is_chosen_with_how_long_ago() -> None:
    async def act(desk: Desk) -> None:
        desk.link.say(SNAPSHOT)
        menu = await desk.press("m")
        assert "Which mark?" in menu
        text = await desk.press("down", "down", "right", "right")
        assert "> bag closed" in text
        assert "2 min ago" in text
        assert bottom(await desk.press("enter")) == "bag closed in 10 s - u takes it back"
        await desk.look(10.0)
        assert desk.link.sent == [MarkCommand(name="bag_closed", ago_s=130.0)]

    at_desk(act)


def test_a_job_is_abandoned_only_with_a_typed_reason() -> None:
    async def act(desk: Desk) -> None:
        desk.link.say(SNAPSHOT)
        await desk.press("m")
        assert "> abandoned" in await desk.press("up")
        assert "Type why" in await desk.press("enter")
        assert "Type why" in await desk.press("n", "o", "enter")
        assert bottom(await desk.press("t", "enter")) == "abandoned in 10 s - u takes it back"
        await desk.look(10.0)
        assert desk.link.sent == [MarkCommand(name="abandoned", ago_s=10.0, note="not")]

    at_desk(act)


def test_escape_leaves_menu_and_reason_without_a_mark() -> None:
    async def act(desk: Desk) -> None:
        desk.link.say(SNAPSHOT)
        await desk.press("m")
        assert "Which mark?" not in await desk.press("escape")
        desk.clock.turn(1.0)
        await desk.press("m", "up", "enter")
        assert "Type why" not in await desk.press("escape")
        await desk.look(20.0)
        assert desk.link.sent == []

    at_desk(act)


def test_an_alarm_opens_its_text_in_place_of_the_trends() -> None:
    async def act(desk: Desk) -> None:
        desk.link.say(SNAPSHOT)
        assert "wanted below 90" in await desk.look()
        desk.link.say(snapshot(alarms=(FAULT, LOST)))
        text = await desk.look(0.5)
        assert "!! 2 alarms not seen: vacuum lost, sensor fault part2" in text
        assert "do Listen along the tape" in text
        assert "wanted below 90" not in text

    at_desk(act)


def test_a_new_alarm_rings_once_and_opens_its_text_even_over_chosen_trends() -> None:
    async def act(desk: Desk) -> None:
        rung: list[int] = []
        desk.panel.bell = lambda: rung.append(1)  # type: ignore[method-assign]  # counts
        desk.link.say(snapshot(alarms=(FAULT,)))
        await desk.look()
        await desk.look(0.5)
        assert len(rung) == 1
        assert "wanted below 90" in await desk.press("t")
        desk.link.say(snapshot(alarms=(FAULT, LOST)))
        assert "do Listen along the tape" in await desk.look(0.5)
        assert len(rung) == 2

    at_desk(act)


def test_on_a_tall_terminal_alarm_and_trends_stand_together() -> None:
    async def act(desk: Desk) -> None:
        desk.link.say(snapshot(alarms=(LOST,)))
        text = await desk.look()
        assert "do Listen along the tape" in text
        assert "wanted below 90" in text

    at_desk(act, size=(120, 40))


def test_the_acknowledge_key_says_the_most_urgent_alarm_is_seen() -> None:
    async def act(desk: Desk) -> None:
        desk.link.say(snapshot(alarms=(FAULT, LOST)))
        desk.link.answer = Answer(ok=True, text="vacuum_lost is acknowledged.")
        await desk.look()
        assert bottom(await desk.press("a")) == "vacuum lost is acknowledged."
        assert desk.link.sent == [AcknowledgeCommand(id="vacuum_lost-1", by="panel")]

    at_desk(act)


def test_a_seen_alarm_gives_the_place_back_and_t_shows_its_text_again() -> None:
    async def act(desk: Desk) -> None:
        desk.link.say(snapshot(alarms=(replace(LOST, state=AlarmState.ACKNOWLEDGED),)))
        text = await desk.look()
        assert "!  seen, still active: vacuum lost" in text
        assert "wanted below 90" in text
        assert "do Listen along the tape" in await desk.press("t")

    at_desk(act)


def test_help_says_what_the_keys_do_and_any_key_goes_back() -> None:
    async def act(desk: Desk) -> None:
        desk.link.say(SNAPSHOT)
        assert "It is not a safety system" in await desk.press("question_mark")
        assert "It is not a safety system" not in await desk.press("x")

    at_desk(act)


def test_leaving_sends_the_waiting_mark_first() -> None:
    async def act(desk: Desk) -> None:
        desk.link.say(SNAPSHOT)
        await desk.press("space")
        desk.clock.turn(2.0)
        await desk.press("q")
        assert desk.link.sent == [MarkCommand(name="valve_shut", ago_s=2.0)]
        assert not desk.panel.is_running or desk.panel._exit

    at_desk(act)


def test_leaving_with_a_mark_that_cannot_be_sent_takes_two_presses() -> None:
    async def act(desk: Desk) -> None:
        desk.link.say(SNAPSHOT)
        desk.link.fails = NotReachedError("no bagvigil answers")
        await desk.press("space")
        text = await desk.press("q")
        assert "valve shut not sent - u takes it back. No bagvigil answers. q leaves." in text
        assert not desk.panel._exit
        await desk.press("q")
        assert desk.panel._exit

    at_desk(act)


def test_every_phase_paints_at_every_usual_size() -> None:
    for size in ((80, 24), (40, 12), (132, 50), (20, 5)):

        async def act(desk: Desk) -> None:
            for phase in Phase:
                desk.link.say(snapshot(phase))
                assert await desk.look(0.5)

        at_desk(act, size=size)
