"""A job's facts put into the report: every line of the page, in the order of the page.

Pure: values in, values out. What is drawn is in `pictures`, everything else is text.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from firmware_host.model.events import LeakChecked, Phase
from firmware_host.report.bag_notes import bag_notes
from firmware_host.report.doubts import CAUTIONS, doubts
from firmware_host.report.facts import Facts, Measured, Windows
from firmware_host.report.happened import (
    AlarmRow,
    GapRow,
    Moment,
    SensorRow,
    alarm_rows,
    gap_rows,
    key_moments,
    moments,
    sensor_rows,
)
from firmware_host.report.headlines import Headline, headlines
from firmware_host.report.materials import (
    Line,
    conditions,
    every_value,
    materials,
    people_and_lots,
    rule_words,
)
from firmware_host.report.picture import VERDICT_WORDS, Pictures, pictures
from firmware_host.report.resin_notes import AheadRow, StateRow, ahead_rows, state_rows
from firmware_host.report.words import NBSP, TimeWords, duration, mbar_in_5_min, several

FORECASTS_SHOWN = 8


@dataclass(frozen=True, slots=True, kw_only=True)
class TestRow:
    """One drop test."""

    number: int
    start: str
    length: str
    rise: str
    most: str
    limit: str
    verdict: str
    known: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ForecastRow:
    """What was expected of the gel at some moment."""

    at: str
    gel: str
    interval: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Report:
    """Everything that the page says."""

    title: str
    part: str
    bench: str
    folder: str
    date: str
    status: str
    zone: str
    origin: str
    headlines: tuple[Headline, ...]
    materials: tuple[Line, ...]
    conditions: tuple[Line, ...]
    key_moments: tuple[Moment, ...]
    moments: tuple[Moment, ...]
    alarms: tuple[AlarmRow, ...]
    sensors: tuple[SensorRow, ...]
    gaps: tuple[GapRow, ...]
    tests: tuple[TestRow, ...]
    rule: str
    bag_notes: tuple[str, ...]
    """Settling, flow, how long it lasts, how deep was wise."""
    forecasts: tuple[ForecastRow, ...]
    states: tuple[StateRow, ...]
    ahead: tuple[AheadRow, ...]
    doubts: tuple[str, ...]
    cautions: tuple[str, ...]
    plan_sheet: str
    people_and_lots: tuple[Line, ...]
    values: tuple[tuple[str, tuple[Line, ...]], ...]
    record: tuple[Line, ...]
    head: str
    version: str
    pictures: Pictures


def build(facts: Facts, measured: Mapping[str, Measured], windows: Windows) -> Report:
    """Make the report of a job."""
    story = facts.story
    pour = story.pour
    words = TimeWords(zero_wall=facts.zero_wall, mixed_s=pour.time_s if pour else None)
    return Report(
        title=_title(story.phase),
        part=facts.part,
        bench=facts.bench,
        folder=facts.folder,
        date=words.date(words.origin_s),
        status=_status(facts, words),
        zone=words.zone(),
        origin=words.origin,
        headlines=headlines(facts, measured, words),
        materials=materials(facts.job),
        conditions=conditions(facts, measured),
        key_moments=key_moments(story, words),
        moments=moments(story, words),
        alarms=alarm_rows(story, words),
        sensors=sensor_rows(facts, measured, words),
        gaps=gap_rows(story, words),
        tests=tuple(_test(test, words) for test in story.tests),
        rule=rule_words(facts.job),
        bag_notes=bag_notes(facts, measured),
        forecasts=_forecasts(facts, words),
        states=state_rows(story, words),
        ahead=ahead_rows(story, words),
        doubts=doubts(facts),
        cautions=CAUTIONS,
        plan_sheet=facts.plan_sheet,
        people_and_lots=people_and_lots(facts.job),
        values=every_value(facts.job),
        record=_record(facts),
        head=head_words(facts),
        version=facts.version,
        pictures=pictures(facts, measured, windows, words),
    )


def _title(phase: Phase) -> str:
    if phase is Phase.ABANDONED:
        return "Report of an abandoned job"
    return "Post-cure report" if phase is Phase.CLOSED else "Report of a job that still runs"


def _status(facts: Facts, words: TimeWords) -> str:
    story = facts.story
    at = words.when(story.end_s)
    if story.is_over:
        return f"{story.phase.value} {at}"
    return f"{story.phase.value.replace('_', ' ')}, as of {at}"


def head_words(facts: Facts) -> str:
    """Spell where the record stood: whoever holds the record can find these rows in it."""
    head = facts.head
    return (
        f"input {head.inputs} check {head.input_check & 0xFFFFFFFF:08X}, "
        f"event {head.events} check {head.event_check & 0xFFFFFFFF:08X}"
    )


def _test(test: LeakChecked, words: TimeWords) -> TestRow:
    rise, low, high = test.rise_pa_per_s, test.rise_low_pa_per_s, test.rise_high_pa_per_s
    known = rise is not None and low is not None and high is not None
    return TestRow(
        number=test.number,
        start=f"{words.wall(test.start_s)} ({words.since(test.start_s)})",
        length=duration(test.end_s - test.start_s) + ("" if test.final else ", running"),
        rise=mbar_in_5_min(rise) if rise is not None else "too short to tell",
        most=f"{_plain(low)} to {_plain(high)}"
        if known and low is not None and high is not None
        else "\u2013",
        limit=mbar_in_5_min(test.limit_pa_per_s),
        verdict=VERDICT_WORDS[test.verdict.value],
        known="\u2013"
        if test.decided_s is None
        else f"after {duration(test.decided_s - test.start_s)}",
    )


def _plain(rise_pa_per_s: float) -> str:
    return mbar_in_5_min(rise_pa_per_s).split(NBSP)[0]


def _forecasts(facts: Facts, words: TimeWords) -> tuple[ForecastRow, ...]:
    said = facts.story.forecasts
    if not said:
        return ()
    step = max(-(-len(said) // FORECASTS_SHOWN), 1)
    return tuple(
        ForecastRow(
            at=f"{words.wall(one.time_s)} ({words.since(one.time_s)})",
            gel=f"{words.minutes(one.gel_s):.0f}{NBSP}min",
            interval=f"{words.minutes(one.low_s):.0f} to {words.minutes(one.high_s):.0f}",
        )
        for one in said[::step]
    )


def _record(facts: Facts) -> tuple[Line, ...]:
    head = facts.head
    source = "replayed from a log" if facts.from_log else f"watched on bench {facts.bench}"
    return (
        Line(name="Job folder", value=facts.folder),
        Line(
            name="Record",
            value=f"{several(head.inputs, 'input')}, {several(head.events, 'event')}; {source}",
        ),
        Line(name="Last rows", value=head_words(facts)),
        *(
            (
                Line(
                    name="Hash of the record, SHA-256",
                    value=f"{head.sha256}, up to input {head.hashed_inputs}",
                ),
            )
            if head.sha256
            else ()
        ),
        Line(name="job.toml, SHA-256", value=facts.job_sha256),
        *(
            Line(
                name=f"Earlier page {page.n}, SHA-256",
                value=f"{page.sha256}, made of {several(page.inputs, 'input')}",
            )
            for page in facts.earlier_pages
        ),
        Line(name="Made by", value=f"Bag Vigil {facts.version}"),
    )
