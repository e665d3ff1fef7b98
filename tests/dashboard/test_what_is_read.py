"""What a person reads on the panel in each of the job's moments, while a hand turns the clock."""

from __future__ import annotations

from dataclasses import replace

import pytest

from dashboard.widgets.lines import Lines
from firmware_host.model.commands import AcknowledgeCommand
from firmware_host.model.events import AlarmState, CureState, Phase, Verdict
from firmware_host.model.quality import Quality
from firmware_host.model.snapshot import ChannelView, DropTestView
from tests.dashboard.parts import (
    CHANNELS,
    KICKED_CURE,
    LOST,
    SNAPSHOT,
    TEST,
    TREND,
    WAITING_CURE,
    Desk,
    at_desk,
    snapshot,
)

DROP_ROW, GAUGE_ROW, RESIN_ROW, STATE_ROW, KEY_ROW = 17, 18, 20, 22, 23
"""Where they stand on a screen of 24 rows with one row of channels."""


def row(text: str, number: int) -> str:
    return text.split("\n")[number].strip()


def test_the_bag_is_drawn_with_the_pressure_that_it_is_wanted_below() -> None:
    async def act(desk: Desk) -> None:
        desk.link.say(SNAPSHOT)
        rows = (await desk.look()).split("\n")
        assert rows[9].startswith(" bag, mbar, wanted below 150 ")
        (limit,) = [shown[:40] for shown in rows if shown.startswith(" 150")]
        assert limit.count("-") > 20
        above = rows[10:].index(next(shown for shown in rows if shown.startswith(" 150")))
        assert "####" in "".join(shown[5:20] for shown in rows[10 : 10 + above])

    at_desk(act, ascii_only=True)


def test_the_laminate_is_drawn_with_its_limit_as_soon_as_it_comes_near() -> None:
    async def act(desk: Desk) -> None:
        desk.link.say(SNAPSHOT)
        text = await desk.look()
        assert "laminate, C, wanted below 90" in text
        assert "  90|" not in text
        hot = tuple(352.0 + 2.0 * step for step in range(6))
        desk.link.job = replace(TREND, laminate_k=hot)
        (limit,) = [shown for shown in (await desk.look(5.0)).split("\n") if "  90|-" in shown]
        assert limit.count("-") > 20

    at_desk(act, ascii_only=True)


def test_a_drop_test_is_followed_from_the_shut_valve_to_its_verdict() -> None:
    async def act(desk: Desk) -> None:
        def at(time_s: float, test: DropTestView) -> None:
            desk.link.say(snapshot(time_s=time_s, drop_test=replace(test, end_s=time_s)))

        desk.link.say(SNAPSHOT)
        assert row(await desk.look(), DROP_ROW) == (
            "drop test   none yet; the verdict on the bag is not proven"
        )
        young = replace(TEST, rise_pa_per_s=None, rise_low_pa_per_s=None, rise_high_pa_per_s=None)
        at(1510.0, young)
        text = await desk.look(0.5)
        assert row(text, DROP_ROW) == (
            "drop test 2  valve shut 0:10   ~ not proven   rise: too early"
        )
        at(1560.0, TEST)
        text = await desk.look(0.5)
        assert row(text, DROP_ROW) == (
            "drop test 2  valve shut 1:00   ~ not proven   rise 1.2 (0.4 to 2.1) Pa/s"
        )
        assert row(text, GAUGE_ROW) == (
            "0 [..===o====....|.............] 6.6   | limit 3.3 Pa/s, 1 inHg in 5 min"
        )
        at(1620.0, replace(TEST, verdict=Verdict.TIGHT))
        assert row(await desk.look(0.5), DROP_ROW) == (
            "drop test 2  valve shut 2:00   tight   rise 1.2 (0.4 to 2.1) Pa/s"
        )
        at(1800.0, replace(TEST, verdict=Verdict.TIGHT, running=False))
        assert row(await desk.look(0.5), DROP_ROW) == (
            "drop test 2  ended 08:30 after 5:00   tight   rise 1.2 (0.4 to 2.1) Pa/s"
        )

    at_desk(act)


def test_a_leaking_bag_says_so_with_the_rise_beyond_the_limit() -> None:
    async def act(desk: Desk) -> None:
        test = replace(
            TEST,
            verdict=Verdict.LEAKING,
            rise_pa_per_s=19.9,
            rise_low_pa_per_s=10.9,
            rise_high_pa_per_s=114.0,
            number=12,
            running=False,
            end_s=TEST.start_s + 600.0,
        )
        desk.link.say(snapshot(drop_test=test))
        text = await desk.look()
        assert row(text, DROP_ROW) == (
            "drop test 12  ended 08:35 after 10:00   !! leaking   rise 20 (11 to 114) Pa/s"
        )
        assert row(text, GAUGE_ROW) == (
            "0 [..............|............>] 6.6   | limit 3.3 Pa/s, 1 inHg in 5 min"
        )

    at_desk(act)


def test_the_gel_is_a_range_until_it_has_come_and_only_then_is_there_a_conversion() -> None:
    async def act(desk: Desk) -> None:
        desk.link.say(SNAPSHOT)
        text = await desk.look()
        assert row(text, RESIN_ROW) == (
            "resin       waiting   gel from 08:50 to 09:20, likely near 09:00; latest 09:30"
        )
        assert "conversion" not in text
        late = replace(WAITING_CURE, state=CureState.LATE)
        desk.link.say(snapshot(cure=late))
        assert row(await desk.look(0.5), RESIN_ROW).startswith("resin       late   gel from 08:50")
        desk.link.say(snapshot(Phase.KICKED, cure=KICKED_CURE))
        assert row(await desk.look(0.5), RESIN_ROW) == (
            "resin       kicked   gelled 08:50 to 09:20   conversion 42% (30% to 55%)"
        )

    at_desk(act)


def test_data_is_fresh_at_two_seconds_and_says_its_age_half_a_second_later() -> None:
    async def act(desk: Desk) -> None:
        desk.link.say(SNAPSHOT)
        assert row(await desk.look(2.0), 0).endswith("08:30")
        assert row(await desk.look(0.5), 0).endswith("!! data 2 s old")
        assert row(await desk.look(1.0), 0).endswith("!! data 3 s old")
        desk.link.say(SNAPSHOT)
        assert row(await desk.look(), 0).endswith("08:30")

    at_desk(act)


def test_readings_too_old_for_now_are_blank_and_not_the_last_good_ones() -> None:
    async def act(desk: Desk) -> None:
        desk.link.say(SNAPSHOT)
        assert "bag         49 mbar" in await desk.look(10.0)
        text = await desk.look(0.5)
        assert "49 mbar" not in text
        assert "bag !! no data" in text

    at_desk(act)


def test_a_bench_without_ports_says_what_is_not_measured_and_keeps_its_clock() -> None:
    async def act(desk: Desk) -> None:
        said = snapshot(Phase.WORKING, channels=(), time_s=800.0, cure=None, work=None)
        desk.link.say(replace(said, links=()))
        text = await desk.look()
        assert "bag not measured" in text
        assert "part not measured" in text
        assert "work time left, min:s" in text
        assert row(text, STATE_ROW).startswith("no port; nothing is measured")
        desk.link.say(replace(snapshot(channels=()), links=()))
        text = await desk.look(0.5)
        assert text.split("\n")[8].split() == ["not", "measured", "not", "measured"]

    at_desk(act)


@pytest.mark.parametrize(
    ("broker", "alarms", "words"),
    [
        ("", (), "no broker"),
        ("broker.lan", (), "broker broker.lan"),
        ("broker.lan", (replace(LOST, name="phone_path_down"),), "!! no phone is told"),
    ],
)
def test_whether_a_phone_is_told_is_said(
    broker: str, alarms: tuple[object, ...], words: str
) -> None:
    async def act(desk: Desk) -> None:
        desk.link.say(replace(snapshot(alarms=alarms), broker=broker))
        state = row(await desk.look(), STATE_ROW)
        assert state.split("   ")[3].strip() == words
        assert state.endswith("north-bench")

    at_desk(act)


def test_an_alarm_is_answered_stays_until_its_cause_is_gone_and_then_goes() -> None:
    async def act(desk: Desk) -> None:
        desk.link.say(snapshot(alarms=(LOST,)))
        text = await desk.look()
        assert row(text, 1) == "!! 1 alarm not seen: vacuum lost"
        assert row(text, 9) == "!! vacuum lost   high   active   since 08:28, 2 min"
        assert "Bag above 150 mbar for 2 min." in text
        assert "do Listen along the tape" in text
        assert "a  alarm seen" in row(text, KEY_ROW)
        await desk.press("a")
        assert desk.link.sent == [AcknowledgeCommand(id="vacuum_lost-1", by="panel")]
        desk.link.say(snapshot(alarms=(replace(LOST, state=AlarmState.ACKNOWLEDGED),)))
        text = await desk.look(9.0)
        assert row(text, 1) == "!  seen, still active: vacuum lost"
        assert "alarm seen" not in row(text, KEY_ROW)
        desk.link.say(SNAPSHOT)
        assert row(await desk.look(0.5), 1) == "no alarm"

    at_desk(act)


def test_an_active_alarm_is_one_inverse_block_and_others_are_not() -> None:
    async def act(desk: Desk) -> None:
        desk.link.say(snapshot(alarms=(LOST,)))
        await desk.look()
        assert inverse_rows(desk) == [1, 9, 10, 11]
        desk.link.say(snapshot(alarms=(replace(LOST, state=AlarmState.RETURNED),)))
        await desk.look(0.5)
        assert inverse_rows(desk) == [1, 9]
        desk.link.say(snapshot(alarms=(replace(LOST, state=AlarmState.ACKNOWLEDGED),)))
        await desk.press("t")
        assert inverse_rows(desk) == [9]

    at_desk(act)


def inverse_rows(desk: Desk) -> list[int]:
    """Rows that are inverse from edge to edge."""
    rows = desk.panel.screen._compositor.render_strips()
    return [
        number
        for number, strip in enumerate(rows)
        if all(piece.style is not None and piece.style.reverse for piece in strip)
    ]


def test_a_doubtful_reading_is_told_from_a_good_one_by_its_sign() -> None:
    async def act(desk: Desk) -> None:
        bag, *others = CHANNELS
        doubtful = replace(others[0], quality=Quality.DOUBTFUL, why="noisy")
        desk.link.say(snapshot(channels=(bag, doubtful, *others[1:])))
        text = await desk.look()
        assert "part1    25.0 C ~" in text
        assert "bag         49 mbar part1" in text

    at_desk(act)


def test_no_line_of_the_screen_breaks_into_two() -> None:
    async def act(desk: Desk) -> None:
        long = ChannelView(name="part1", value=None, age_s=None, fault="x" * 100)
        desk.link.say(replace(snapshot(drop_rule="9" * 120, channels=(long,)), part="y" * 100))
        text = await desk.look()
        assert [place.size.height for place in desk.panel.query(Lines)] != []
        assert row(text, KEY_ROW).startswith("SPACE")
        assert len(text.split("\n")) == 24

    at_desk(act)
