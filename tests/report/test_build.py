from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import UTC, date, datetime

import numpy as np
import pytest

from firmware_host.config.load import parse_job
from firmware_host.model.events import (
    AlarmState,
    ChannelLearnt,
    CureEstimated,
    Event,
    Phase,
    SensorFaultChanged,
    Verdict,
    ZeroFound,
)
from firmware_host.model.samples import Frame
from firmware_host.report.build import Report, build
from firmware_host.report.charts import word_rows
from firmware_host.report.facts import EarlierPage, Facts, Gathering, Head, Sensor
from firmware_host.report.headlines import Tone
from firmware_host.report.story import tell
from firmware_host.report.words import NBSP
from tests.report.parts import (
    BOARD,
    END_S,
    JOB,
    PART,
    TIGHT,
    alarm,
    drop_test,
    frames,
    gap,
    mark,
    phase,
    two_alarms,
    whole_job,
)

HEAD = Head(inputs=7206, input_check=-1, events=9, event_check=0xABC, lost_inputs=0)


def facts_of(events: Sequence[Event], *, job: str = JOB) -> Facts:
    return Facts(
        folder="2026-03-01-drone-fairing-1",
        part=PART,
        bench="north-bench",
        version="0.1.0",
        from_log=False,
        zero_wall=datetime(2026, 3, 1, 8, 0, tzinfo=UTC),
        clock_rate=1.0,
        clock_steps_s=(),
        job=parse_job(job, "job.toml"),
        job_sha256="0" * 64,
        sensors=tuple(Sensor(channel=channel, kind="") for channel in BOARD.channels),
        story=tell(events, (), work_s=1200.0, last_s=END_S),
        head=HEAD,
    )


def built(facts: Facts, given: Sequence[Frame] | None = None) -> Report:
    channels = [sensor.channel for sensor in facts.sensors]
    gathering = Gathering([channels], facts.story, facts.job)
    held = list(frames()) if given is None else list(given)
    if held:
        columns = np.array([frame.values for frame in held], dtype=float).T
        kept = [columns[BOARD.channels.index(channel)] for channel in channels]
        gathering.take(0, np.array([frame.time_s for frame in held]), kept)
    return build(facts, gathering.measured(), gathering.windows)


def whole(*more: Event) -> list[Event]:
    return [*(event for _, events in whole_job() for event in events), *more]


def answers(report: Report) -> dict[str, str]:
    return {one.about: one.answer.replace(NBSP, " ") for one in report.headlines}


def details(report: Report, about: str) -> str:
    held = next(one for one in report.headlines if one.about == about)
    return " ".join(held.details).replace(NBSP, " ")


def test_the_answers_of_a_sound_job_come_first_in_plain_words() -> None:
    assert answers(built(facts_of(whole()))) == {
        "Vacuum": "Bag held: tight by 5 times",
        "Resin": "Gelled 55 min after mixing",
        "Warmth": "Hottest 42.0 \u00b0C",
        "Watch": "Watched throughout",
    }


def test_the_gel_has_its_interval_and_what_was_expected() -> None:
    assert details(built(facts_of(whole())), "Resin") == (
        "95 % interval 52 to 59 min. Expected at first: 58 (40 to 85 min). "
        "Estimated conversion when vacuum was released: 80 % (72 to 88)."
    )


def test_the_bag_is_held_against_its_rule_in_the_units_of_the_bench() -> None:
    said = details(built(facts_of(whole())), "Vacuum")
    assert "air leaking in at most 6.0 mbar in 5 min; rule 33.9 mbar in 5 min." in said
    assert "Below 150 mbar for 83 min; lowest 15 mbar." in said


@pytest.mark.parametrize(
    ("test", "answer", "tone"),
    [
        (drop_test(2, 2400.0, Verdict.TIGHT, 5.0, 5.65), "Bag held: tight", Tone.GOOD),
        (drop_test(2, 2400.0, Verdict.TIGHT, 5.0, 5.64), "Bag held: tight by 2 times", Tone.GOOD),
        (
            drop_test(2, 2400.0, Verdict.TIGHT, 0.1, 0.5),
            "Bag held: tight by more than 20 times",
            Tone.GOOD,
        ),
        (
            drop_test(2, 2400.0, Verdict.LEAKING, 45.0, 50.0),
            "Bag leaked: 4 times the rule",
            Tone.BAD,
        ),
        (
            drop_test(2, 2400.0, Verdict.LEAKING, 13.0, 15.0),
            "Bag leaked more than the rule allows",
            Tone.BAD,
        ),
        (drop_test(2, 2400.0, Verdict.UNDECIDED, 9.0, 20.0), "Bag not proven", Tone.OPEN),
    ],
)
def test_the_last_drop_test_speaks_for_the_bag(test: Event, answer: str, tone: Tone) -> None:
    report = built(facts_of(whole(test)))
    assert (answers(report)["Vacuum"], report.headlines[0].tone) == (answer, tone)


def test_a_leak_that_was_closed_is_told() -> None:
    leak = drop_test(1, 1700.0, Verdict.LEAKING, 45.0, 50.0)
    after = drop_test(2, 2400.0, Verdict.TIGHT, 1.0, 2.0)
    said = details(built(facts_of(whole(leak, after))), "Vacuum")
    assert said.startswith("A leak found in test 1 was closed. Drop test 2:")


def test_a_bag_without_a_drop_test_is_not_proven_however_low_its_pressure() -> None:
    events = [event for event in whole() if event is not TIGHT]
    report = built(facts_of(events))
    assert answers(report)["Vacuum"] == "Bag not proven"
    assert "No drop test was made: that the bag was tight is not shown." in report.doubts


def test_vacuum_that_was_lost_comes_before_any_test() -> None:
    lost = [
        alarm("vacuum_lost", AlarmState.ACTIVE, 3000.0, 3000.0),
        alarm("vacuum_lost", AlarmState.RETURNED, 3720.0, 3000.0),
    ]
    assert answers(built(facts_of(whole(*lost))))["Vacuum"] == "Vacuum lost for 12 min"


def test_a_gel_that_came_late_says_so() -> None:
    late = alarm("exotherm_late", AlarmState.ACTIVE, 3000.0, 3000.0)
    assert answers(built(facts_of(whole(late))))["Resin"] == "Gelled 55 min after mixing, late"


def test_a_job_that_ended_without_a_gel_says_that_none_was_seen() -> None:
    events = [event for event in whole() if type(event).__name__ != "GelPlaced"]
    report = built(facts_of(events))
    assert answers(report)["Resin"] == "No gel seen"
    assert report.pictures.whole.conversion is None


def test_conversion_is_drawn_from_the_gel_on_and_not_before() -> None:
    band = built(facts_of(whole())).pictures.whole.conversion
    assert band is not None
    assert 55.0 <= band.minutes.min() < 56.0


def test_conversion_is_not_drawn_across_a_gap() -> None:
    said = [
        event
        for event in whole()
        if not (isinstance(event, CureEstimated) and 4800.0 < event.time_s < 5400.0)
    ]
    band = built(facts_of(said)).pictures.whole.conversion
    assert band is not None
    (broken,) = np.flatnonzero(np.isnan(band.middle))
    assert (band.minutes[broken - 1], band.minutes[broken + 1]) == (75.0, 85.0)
    assert np.isnan([band.low[broken], band.high[broken], band.minutes[broken]]).all()


def test_a_gap_is_unseen_time_and_nothing_is_drawn_across_it() -> None:
    held = [frame for frame in frames() if not 4000.0 < frame.time_s < 4600.0]
    report = built(facts_of(whole(gap(4000.0, 4600.0))), held)
    assert answers(report)["Watch"] == "10 min unseen"
    for line in (*report.pictures.whole.pressures, *report.pictures.whole.temperatures):
        inside = (line.minutes > 61.7) & (line.minutes < 71.6)
        assert not (inside & np.isfinite(line.values)).any()
        across = np.flatnonzero(line.minutes <= 61.7)[-1]
        assert np.isnan(line.values[across])


def test_a_silent_bag_is_unseen_vacuum() -> None:
    silent = SensorFaultChanged(
        time_s=3010.0, channel="bag", kind="silent", start_s=3000.0, end_s=3060.0
    )
    report = built(facts_of(whole(silent)))
    assert answers(report)["Watch"] == "60 s unseen"
    said = [text.replace(NBSP, " ") for text in report.doubts]
    assert "Not seen: vacuum for 60 s. Nothing is known of that time." in said


def test_what_happened_several_times_is_one_line_on_the_first_page() -> None:
    cycles = [event for at_s in (1500.0, 1800.0, 2100.0) for event in mark(at_s, "pump_on")[1]]
    report = built(facts_of(whole(*cycles)))
    (line,) = [one for one in report.key_moments if one.what == "pump on"]
    assert (line.since, line.note) == (f"+20{NBSP}min", f"3 times, last +30{NBSP}min")
    assert sum(one.what == "pump on" for one in report.moments) == 3


def test_words_that_are_close_stand_in_rows_of_their_own() -> None:
    assert word_rows([0.0, 4.9, 9.9, 10.0], 5.0) == (0, 1, 0, 1)
    assert word_rows([0.0, 1.0, 2.0, 3.0, 4.0, 5.0], 5.0) == (0, 1, 2, 3, 3, 0)
    assert word_rows([], 5.0) == ()


def test_a_job_that_ended_the_day_after_says_so() -> None:
    late = replace(facts_of(whole()), zero_wall=datetime(2026, 3, 1, 22, 30, tzinfo=UTC))
    assert built(late).status == "closed 02 Mar 00:25"
    assert built(facts_of(whole())).status == "closed 09:55"


def test_pages_made_of_a_shorter_record_are_named_with_their_fingerprint() -> None:
    earlier = EarlierPage(n=1, sha256="ab" * 32, inputs=7000)
    lines = built(replace(facts_of(whole()), earlier_pages=(earlier,))).record
    held = {line.name: line.value for line in lines}
    assert held["Earlier page 1, SHA-256"] == f"{'ab' * 32}, made of 7000 inputs"


def test_a_gap_after_the_release_is_no_unseen_time() -> None:
    assert answers(built(facts_of(whole(gap(6700.0, 6800.0)))))["Watch"] == "Watched throughout"


def test_a_spike_is_drawn_but_is_not_the_hottest() -> None:
    held = list(frames())
    values = held[2000].values
    held[2000] = replace(held[2000], values=(values[0], 473.15, values[2]))
    report = built(facts_of(whole()), held)
    part = report.pictures.whole.temperatures[0]
    assert np.nanmax(part.values) == pytest.approx(200.0)
    assert answers(report)["Warmth"] == "Hottest 42.0 \u00b0C"


def test_alarms_are_told_with_answer_end_and_length() -> None:
    rows = built(facts_of(whole(*(event for _, events in two_alarms() for event in events)))).alarms
    leak, silence = (
        [
            getattr(row, name).replace(NBSP, " ")
            for name in ("name", "where", "raised", "seen", "cleared", "lasted")
        ]
        for row in rows
    )
    assert leak == ["bag leaking", "", "08:39 (+35 min)", "08:41, after 60 s", "08:45", "5.1 min"]
    assert silence == [
        *("sensor fault", "bag, part1 and shop", "09:23 (+78 min)", "by nobody"),
        *("not cleared", "32 min"),
    ]


def test_what_rings_after_the_job_is_none_of_it() -> None:
    late = alarm("sensor_fault", AlarmState.ACTIVE, 7000.0, 6995.0, channel="bag")
    assert built(facts_of(whole(late))).alarms == ()


def test_channels_that_are_not_there_are_said_to_be_not_measured() -> None:
    facts = facts_of(whole())
    facts = replace(facts, sensors=tuple(s for s in facts.sensors if s.channel.name != "bag"))
    report = built(facts)
    assert answers(report)["Vacuum"] == "Vacuum not measured"
    assert any(
        text == "Not measured: vacuum in the bag, the pump side, the mould and room pressure."
        for text in report.doubts
    )
    assert report.pictures.whole.pressures == ()


def test_assumed_values_are_marked_and_counted() -> None:
    report = built(facts_of(whole()))
    lines = {line.name: line for line in report.materials}
    assert lines["Laminate"].assumed
    assert not lines["Initiator"].assumed
    values = {(table, line.name): line for table, held in report.values for line in held}
    assert values["laminate", "thickness_mm"].assumed
    assert values["job", "work_time_min"].value == "20"
    assert not values["job", "work_time_min"].assumed
    assert any("were not given and taken from defaults" in text for text in report.doubts)


def test_a_pour_that_nobody_marked_is_doubted() -> None:
    report = built(facts_of([phase(1500.0, Phase.DRAWDOWN)]))
    assert any(text.startswith("Mixing was not marked") for text in report.doubts)
    assert ("resin mixed", "not marked; assumed") in {
        (moment.what, moment.note) for moment in report.moments
    }


def test_what_was_set_aside_before_the_pour_is_on_the_page() -> None:
    job = (
        JOB + '[[overrides]]\nname = "shop_cold"\nreason = "the customer waits"\nby = "M. Faber"\n'
    )
    report = built(facts_of(whole(), job=job))
    assert (
        "Before the pour \u201cshop cold\u201d was set aside: the customer waits" in report.doubts
    )


def test_a_demonstration_and_a_clock_that_was_set_are_owned_up_to() -> None:
    facts = replace(facts_of(whole()), clock_rate=300.0, clock_steps_s=(3600.0,))
    said = " ".join(built(facts).doubts).replace(NBSP, " ")
    assert "A demonstration: its clock ran 300 times as fast as the world." in said
    assert "The board's clock was set on by 60 min during the job" in said


def test_a_sensor_that_nobody_compared_or_not_for_a_year_is_named() -> None:
    facts = facts_of(whole())  # a job of 1 March 2026
    bare = " ".join(built(facts).doubts)
    assert "No calibration of the sensors is on record." in bare
    dates = [date(2025, 2, 27), date(2025, 2, 28), *[None] * (len(facts.sensors) - 2)]
    sensors = tuple(
        replace(sensor, calibrated_on=on) for sensor, on in zip(facts.sensors, dates, strict=True)
    )
    said = " ".join(built(replace(facts, sensors=sensors)).doubts).replace(NBSP, " ")
    overdue, fresh, never = (sensor.channel.name for sensor in sensors[:3])
    assert f"Calibration overdue: {overdue} (2025-02-27)." in said
    assert f"Never calibrated, as far as is known: {never}" in said
    assert f"{fresh} (" not in said


def test_what_the_first_minutes_left_in_question_is_on_the_page() -> None:
    text = "bag reads 57 hPa above the barometer, too far for a zero: check the gauge."
    zero = ZeroFound(
        time_s=120.0,
        channel="bag",
        against="barometer",
        offset=5700.0,
        taken_off=False,
        sound=False,
        text=text,
    )
    quiet = ChannelLearnt(time_s=600.0, channel="shop", noise=0.01, step=0.25, tells_stuck=False)
    said = built(facts_of([zero, quiet, *whole()])).doubts
    assert text in said
    assert any(line.endswith("until something else moves: shop.") for line in said)
    good = replace(zero, sound=True), replace(quiet, tells_stuck=True)
    assert len(built(facts_of([*good, *whole()])).doubts) == len(said) - 2


def test_an_empty_job_has_a_report_all_the_same() -> None:
    report = built(facts_of([]), [])
    assert answers(report) == {
        "Vacuum": "Bag not proven",
        "Resin": "Resin not followed",
        "Warmth": "Warmth not measured",
        "Watch": "Watched throughout",
    }
    assert report.title == "Report of a job that still runs"


def test_an_abandoned_job_says_why() -> None:
    _, given_up = mark(900.0, "abandoned", "the cup kicked on the bench")
    report = built(facts_of([*whole()[:2], *given_up, phase(900.0, Phase.ABANDONED)]))
    assert report.title == "Report of an abandoned job"
    assert ("abandoned", "the cup kicked on the bench") in {
        (moment.what, moment.note) for moment in report.key_moments
    }


def test_the_head_of_the_record_can_be_found_in_it() -> None:
    assert built(facts_of(whole())).head == ("input 7206 check FFFFFFFF, event 9 check 00000ABC")


def test_the_appendix_draws_each_drop_test_against_its_rule() -> None:
    test = built(facts_of(whole())).pictures.tests[0]
    assert test.title == "Test 1: tight"
    assert test.from_mbar is not None
    assert test.limit_mbar_per_min == pytest.approx(6.772776)


def test_a_long_night_gets_a_picture_of_its_wet_hours() -> None:
    facts = facts_of(
        [event for event in whole() if not isinstance(event, type(phase(0.0, Phase.CLOSED)))]
    )
    night = replace(facts, story=replace(facts.story, last_s=86400.0))
    assert built(night).pictures.early is not None
    assert built(facts_of(whole())).pictures.early is None
