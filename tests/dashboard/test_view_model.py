"""What each place of the panel says."""

from __future__ import annotations

from dataclasses import replace

import pytest

from dashboard.bottom import key_line
from dashboard.heard import BLANK_S, OLD_S, Heard
from dashboard.shown import Line, Screen, Tone, text_of
from dashboard.view_model import screen_of
from firmware_host.model.events import AlarmState, CureState, Phase, Verdict
from firmware_host.model.snapshot import ChannelView, LinkView, Snapshot
from tests.dashboard.parts import (
    FAULT,
    KICKED_CURE,
    LOST,
    SNAPSHOT,
    TEST,
    WAITING_CURE,
    snapshot,
)


def screen(said: Snapshot, age_s: float = 0.0, trouble: str = "") -> Screen:
    return screen_of(Heard(snapshot=said, at_s=100.0, trouble=trouble), 100.0 + age_s)


def tones(shown: Line) -> set[Tone]:
    return {span.tone for span in shown if span.text.strip()}


def test_before_anything_is_heard_it_says_what_it_waits_for() -> None:
    shown = screen_of(Heard(trouble="no bagvigil answers at x.sock"), 5.0)
    assert "not connected" in text_of(shown.header)
    assert text_of(shown.alarm_line) == " no bagvigil answers at x.sock"
    assert (shown.left.digits, shown.right.digits) == ("--", "--")


def test_the_header_names_part_phase_and_times() -> None:
    header = text_of(screen(SNAPSHOT).header)
    assert header.startswith(" kayak hatch cover   waiting  10 min   mixed 25 min ago ")
    assert header.endswith(" 08:30 ")
    assert len(header) == 80


def test_a_fast_clock_is_said() -> None:
    assert "x60 08:30" in text_of(screen(replace(SNAPSHOT, clock_rate=60.0)).header)


def test_data_at_two_seconds_is_fresh_and_older_data_says_its_age() -> None:
    assert "old" not in text_of(screen(SNAPSHOT, OLD_S).header)
    older = screen(SNAPSHOT, OLD_S + 1.0)
    assert text_of(older.header).endswith(" !! data 3 s old ")
    assert Tone.ALARM in tones(older.header)
    gone = screen(SNAPSHOT, 3.0, trouble="no bagvigil answers")
    assert text_of(gone.header).endswith(" !! no answer, 3 s old ")


def test_data_too_old_to_speak_of_now_is_blanked_while_the_work_clock_goes_on() -> None:
    kept = screen(snapshot(Phase.WAITING), BLANK_S)
    assert kept.left.digits == "49"
    blank = screen(snapshot(Phase.WAITING), BLANK_S + 1.0)
    assert (blank.left.digits, text_of(blank.left.note)) == ("--", "!! bag no data")
    working = screen(snapshot(Phase.WORKING, time_s=800.0), BLANK_S + 10.0)
    assert working.left.digits == "31:20"


def test_nothing_moves_without_new_data_but_the_age() -> None:
    assert screen(SNAPSHOT, 0.1) == screen(SNAPSHOT, OLD_S)


def test_no_drop_test_leaves_the_bag_not_proven() -> None:
    first, second = screen(SNAPSHOT).drop_test
    assert text_of(first) == " drop test   none yet; the verdict on the bag is not proven"
    assert text_of(second) == "             limit 1 inHg in 5 min"


def test_a_running_drop_test_shows_time_rise_interval_and_limit() -> None:
    first, second = screen(snapshot(drop_test=TEST)).drop_test
    assert text_of(first) == (
        " drop test 2  valve shut 5:00   ~ not proven   rise 1.2 (0.4 to 2.1) Pa/s"
    )
    assert text_of(second) == (
        "   0 [..===o====....|.............] 6.6   | limit 3.3 Pa/s, 1 inHg in 5 min"
    )


def test_a_rise_beyond_the_scale_leaves_it_to_the_right() -> None:
    test = replace(
        TEST, rise_pa_per_s=9.0, rise_low_pa_per_s=7.0, rise_high_pa_per_s=11.0, running=False
    )
    first, second = screen(snapshot(drop_test=test)).drop_test
    assert "ended 08:26 after 1:00" in text_of(first)
    assert "..>]" in text_of(second)


@pytest.mark.parametrize(
    ("verdict", "words", "tone"),
    [
        (Verdict.TIGHT, " tight ", Tone.MARKED),
        (Verdict.LEAKING, " !! leaking ", Tone.ALARM),
        (Verdict.UNDECIDED, " ~ not proven ", Tone.NOTICE),
    ],
)
def test_each_verdict_has_its_word_shape_and_tone(verdict: Verdict, words: str, tone: Tone) -> None:
    first, _ = screen(snapshot(drop_test=replace(TEST, verdict=verdict))).drop_test
    assert [span.text for span in first if span.tone is tone] == [words]


def test_a_test_too_young_to_fit_says_so_and_draws_no_interval() -> None:
    young = replace(TEST, rise_pa_per_s=None, rise_low_pa_per_s=None, rise_high_pa_per_s=None)
    first, second = screen(snapshot(drop_test=young)).drop_test
    assert text_of(first).endswith("rise: too early")
    assert "=" not in text_of(second)


def test_before_the_gel_the_resin_shows_a_range_of_times_and_no_conversion() -> None:
    assert text_of(screen(SNAPSHOT).resin[0]) == (
        " resin       waiting   gel from 08:50 to 09:20, likely near 09:00; latest 09:30"
    )


def test_a_gel_a_day_off_is_not_taken_for_todays() -> None:
    cure = replace(WAITING_CURE, gel_high_s=1800.0 + 86400.0)
    assert "gel from 08:50 to a day or more, likely near 09:00" in text_of(
        screen(snapshot(cure=cure)).resin[0]
    )
    cure = replace(WAITING_CURE, gel_high_s=1800.0 + 86399.0)
    assert "gel from 08:50 to 08:29" in text_of(screen(snapshot(cure=cure)).resin[0])


def test_after_the_gel_the_resin_shows_conversion_with_its_interval() -> None:
    assert text_of(screen(snapshot(cure=KICKED_CURE)).resin[0]) == (
        " resin       kicked   gelled 08:50 to 09:20   conversion 42% (30% to 55%)"
    )


@pytest.mark.parametrize("state", list(CureState))
def test_every_state_of_the_resin_is_said_in_its_own_word(state: CureState) -> None:
    for cure in (WAITING_CURE, KICKED_CURE):
        shown = screen(snapshot(cure=replace(cure, state=state)))
        assert f" resin       {state.value.replace('_', ' ')}" in text_of(shown.resin[0])


def test_a_resin_that_nothing_measures_says_so() -> None:
    cure = replace(WAITING_CURE, state=CureState.NOT_OBSERVABLE)
    assert text_of(screen(snapshot(cure=cure)).resin[0]) == (
        " resin       not observable: laminate and cup are not measured"
    )
    assert text_of(screen(snapshot(cure=None)).resin[0]) == " resin       not mixed yet"


def test_channels_show_value_or_fault_in_columns() -> None:
    (row,) = screen(SNAPSHOT).channels
    assert text_of(row) == (
        " bag         49 mbar part1     25.0 C    part2 !! open       shop      20.0 C   "
    )
    assert [span.tone for span in row] == [Tone.PLAIN, Tone.PLAIN, Tone.ALARM, Tone.PLAIN]


def test_without_channels_bag_and_laminate_are_not_measured() -> None:
    (row,) = screen(snapshot(channels=())).channels
    assert text_of(row).split("  ")[0] == " bag not measured"
    assert "part not measured" in text_of(row)


def test_more_channels_than_fit_are_counted() -> None:
    many = tuple(
        ChannelView(name=f"part{number}", value=300.0, age_s=0.0, fault=None)
        for number in range(1, 31)
    )
    rows = screen(snapshot(channels=many)).channels
    assert len(rows) == 4
    assert "and 16 more" in text_of(rows[-1])


def test_a_port_that_answers_badly_says_how() -> None:
    text = "2.5 % of its lines come damaged (limit 1 %). Check cable, plug and baud."
    limps = LinkView(
        name="board", up=True, text=text, frames=0, damaged=9, lost=0, limps=True
    )  # fmt: skip
    shown = screen(replace(SNAPSHOT, links=(limps,))).state
    assert text_of(shown).startswith(" ~ board: 2.5 % of its lines come damaged")
    assert Tone.NOTICE in tones(shown)


def test_a_lost_port_a_late_record_and_unseen_time_are_named() -> None:
    lost = LinkView(name="board", up=False, text="unplugged", frames=0, damaged=0, lost=0)
    said = replace(snapshot(unseen_s=180.0), links=(lost,), stored_age_s=11.0)
    assert text_of(screen(said).state).startswith(
        " !! board: unplugged   ~ record 11 s behind   ~ 3 min unseen"
    )
    assert text_of(screen(SNAPSHOT).state).startswith(" board answers   recording   no gaps")
    assert "record" not in text_of(screen(replace(said, stored_age_s=10.0)).state).replace(
        "recording", ""
    )


def test_no_alarm_says_no_alarm_and_opens_no_box() -> None:
    shown = screen(SNAPSHOT)
    assert text_of(shown.alarm_line) == " no alarm"
    assert shown.alarm_box == ()


def test_unseen_alarms_are_counted_the_urgent_first() -> None:
    shown = screen(snapshot(alarms=(FAULT, LOST)))
    assert text_of(shown.alarm_line).rstrip() == (
        " !! 2 alarms not seen: vacuum lost, sensor fault part2"
    )
    assert tones(shown.alarm_line) == {Tone.ALARM}
    assert shown.unseen_alarms == ("vacuum_lost-1", "sensor_fault-1")


def test_the_box_gives_state_evidence_action_and_what_else_waits() -> None:
    shown = screen(snapshot(alarms=(FAULT, LOST)))
    assert [text_of(row).rstrip() for row in shown.alarm_box] == [
        " !! vacuum lost   high   active   since 08:28, 2 min",
        "    Bag above 150 mbar for 2 min. The resin has not kicked: vacuum still",
        "    matters.",
        " do Listen along the tape, the pleats and the hose end; check pump and valve.",
        " also sensor fault part2",
    ]


def test_an_active_alarm_stands_before_a_more_urgent_one_whose_cause_is_gone() -> None:
    gone = replace(LOST, state=AlarmState.RETURNED)
    seen = replace(LOST, id="vacuum_lost-2", state=AlarmState.ACKNOWLEDGED)
    shown = screen(snapshot(alarms=(seen, gone, FAULT)))
    assert shown.unseen_alarms == ("sensor_fault-1", "vacuum_lost-1")
    assert text_of(shown.alarm_box[0]).startswith(" !! sensor fault part2   medium   active")


def test_an_alarm_that_went_by_itself_still_waits_to_be_seen() -> None:
    gone = replace(LOST, state=AlarmState.RETURNED)
    shown = screen(snapshot(alarms=(gone,)))
    assert [text_of(row).rstrip() for row in shown.alarm_box] == [
        " !! vacuum lost   high   gone again, not seen   since 08:28, 2 min",
        "    Bag above 150 mbar for 2 min. The resin has not kicked: vacuum still",
        "    matters.",
        " do Nothing now: its cause is gone. It waits to be seen.",
        "",
    ]
    assert shown.unseen_alarms == ("vacuum_lost-1",)


def test_a_seen_alarm_stays_on_its_line_without_inversion() -> None:
    shown = screen(snapshot(alarms=(replace(LOST, state=AlarmState.ACKNOWLEDGED),)))
    assert text_of(shown.alarm_line) == " !  seen, still active: vacuum lost"
    assert Tone.ALARM not in tones(shown.alarm_line)
    assert shown.unseen_alarms == ()


def test_an_alarm_that_was_put_aside_says_until_when_and_asks_for_nothing() -> None:
    aside = replace(LOST, state=AlarmState.SHELVED, shelved_until_s=LOST.raised_s + 1800.0)
    seen = replace(FAULT, state=AlarmState.ACKNOWLEDGED)
    shown = screen(snapshot(alarms=(aside, seen)))
    assert text_of(shown.alarm_line) == (
        " !  seen, still active: sensor fault part2 !  put aside: vacuum lost"
    )
    assert shown.unseen_alarms == ()
    alone = screen(snapshot(alarms=(aside,)))
    assert text_of(alone.alarm_line) == " !  put aside: vacuum lost"
    assert text_of(alone.alarm_box[0]).rstrip() == (
        " !! vacuum lost   high   put aside until 08:58   since 08:28, 2 min"
    )


def test_the_keys_name_the_usual_mark_and_the_alarm_only_when_there_is_one() -> None:
    keys = text_of(key_line(screen(SNAPSHOT), trends_shown=True))
    assert keys == " SPACE  valve shut   m marks   ? help   q leave"
    with_alarm = text_of(key_line(screen(snapshot(alarms=(LOST,))), trends_shown=False))
    assert with_alarm == (
        " SPACE  valve shut   m marks    a  alarm seen   t trends   ? help   q leave"
    )
    none = text_of(key_line(screen(snapshot(usual_mark=None)), trends_shown=True))
    assert none == " m marks   ? help   q leave"
