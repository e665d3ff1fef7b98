from __future__ import annotations

from dataclasses import replace

import pytest

from firmware_host.model.commands import AcknowledgeCommand, MarkCommand, PliesCommand
from firmware_host.model.events import AlarmState, Phase
from firmware_host.model.snapshot import AlarmView, ChannelView, View, WorkView
from firmware_host.outputs.signal_rhythms import (
    GONE,
    SEEN,
    SOUNDS,
    UNSEEN,
    Rhythm,
    lamp_of,
    pressed,
    sound_of,
    tone_hz,
)
from tests.views import VIEW

WORK = WorkView(
    sealed_by_s=None,
    smoothed_by_s=None,
    kick_low_s=None,
    kick_high_s=None,
    proven=False,
    plies_laid=2,
    plies=5,
    next_ply="0.2 m2 of 200 g/m2",
    second_cup_s=None,
    second_cup_by_s=None,
    poured_percent=None,
    poured_doubt="",
)


def alarm(priority: str, state: AlarmState, number: int = 1) -> AlarmView:
    return AlarmView(
        id=f"vacuum_lost-{number}",
        name="vacuum_lost",
        channel=None,
        state=state,
        priority=priority,
        raised_s=10.0,
        text="Vacuum is lost.",
        action="Listen along the tape.",
    )


def view(*alarms: AlarmView) -> View:
    return replace(VIEW, alarms=alarms)


def drawn(bag_pa: float | None, phase: Phase = Phase.DRAWDOWN) -> View:
    bag = ChannelView(name="bag", value=bag_pa, age_s=0.5, fault=None)
    return replace(VIEW, phase=phase, channels=(bag,), room_pa=100000.0)


def test_the_most_urgent_unseen_alarm_sounds() -> None:
    low, high = alarm("low", AlarmState.ACTIVE), alarm("high", AlarmState.ACTIVE, 2)
    assert sound_of(view(low, high)) == SOUNDS["high"]
    assert sound_of(view(low)) == SOUNDS["low"]
    assert len(set(SOUNDS.values())) == 3


@pytest.mark.parametrize("state", [AlarmState.ACKNOWLEDGED, AlarmState.RETURNED])
def test_an_alarm_that_was_seen_or_is_gone_makes_no_sound(state: AlarmState) -> None:
    assert sound_of(view(alarm("high", state))) is None
    assert sound_of(view()) is None


@pytest.mark.parametrize(
    ("state", "rhythm"),
    [
        (AlarmState.ACTIVE, UNSEEN),
        (AlarmState.RETURNED, GONE),
        (AlarmState.ACKNOWLEDGED, SEEN),
    ],
)
def test_a_lamp_tells_whether_somebody_has_seen_it(state: AlarmState, rhythm: Rhythm) -> None:
    shown = view(alarm("medium", state))
    assert lamp_of(shown, "medium") == rhythm
    assert lamp_of(shown, "high") is None


def test_the_tone_rises_two_octaves_from_the_room_to_nothing() -> None:
    assert tone_hz(drawn(100000.0)) == pytest.approx(220.0)
    assert tone_hz(drawn(50000.0)) == pytest.approx(440.0)
    assert tone_hz(drawn(0.0)) == pytest.approx(880.0)
    assert tone_hz(drawn(101000.0)) == pytest.approx(220.0)


@pytest.mark.parametrize(
    "silent",
    [
        drawn(None),
        drawn(50000.0, Phase.WAITING),
        replace(drawn(50000.0), alarms=(alarm("low", AlarmState.ACTIVE),)),
        VIEW,
    ],
)
def test_the_tone_is_still_without_a_reading_a_drawdown_or_beside_an_alarm(silent: View) -> None:
    assert tone_hz(silent) is None


def test_a_press_silences_everything_unseen_and_marks_nothing() -> None:
    shown = view(
        alarm("high", AlarmState.ACTIVE, 1),
        alarm("low", AlarmState.RETURNED, 2),
        alarm("low", AlarmState.ACKNOWLEDGED, 3),
    )
    assert pressed(shown) == [
        AcknowledgeCommand(id="vacuum_lost-1", by="button"),
        AcknowledgeCommand(id="vacuum_lost-2", by="button"),
    ]


def test_a_press_in_quiet_gives_the_mark_that_usually_comes_next() -> None:
    assert pressed(VIEW) == [MarkCommand(name="mixed")]
    assert pressed(replace(VIEW, usual_mark=None)) == []


def test_a_press_while_resin_is_worked_lays_the_next_ply() -> None:
    assert pressed(replace(VIEW, phase=Phase.WORKING, work=WORK)) == [PliesCommand(laid=3)]
    done = replace(VIEW, phase=Phase.WORKING, work=replace(WORK, plies_laid=5))
    assert pressed(done) == [MarkCommand(name="mixed")]
