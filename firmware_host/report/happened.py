"""Rows of what happened: moments, alarms, sensors, gaps, each with times that a person can use.

Pure. Alarms of several channels with one cause are one row: a cable that was pulled is one thing.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

from firmware_host.model.channels import Quantity
from firmware_host.model.events import MarkTaken, Phase
from firmware_host.report.facts import Facts, Measured, Sensor
from firmware_host.report.story import AlarmLife, Story, by_cause
from firmware_host.report.tally import Extreme
from firmware_host.report.words import (
    NBSP,
    TimeWords,
    celsius,
    duration,
    listed,
    mbar,
    spaced,
)

NAMED_CHANNELS = 3
DASH = "\u2013"

MARK_WORDS = {
    "mixed": "resin mixed",
    "dosed": "initiator in",
    "bag_closed": "bag closed",
    "pump_on": "pump on",
    "pump_off": "pump off",
    "valve_shut": "valve shut",
    "valve_open": "valve open",
    "gel_seen": "gel seen by hand",
    "heat_on": "heat on",
    "heat_off": "heat off",
    "vacuum_released": "vacuum released",
    "demoulded": "off the form",
}
PHASE_WORDS = {
    Phase.WAITING: "bag below its limit: waiting for the kick",
    Phase.KICKED: "kick seen",
    Phase.COOLING: "past its peak, cooling",
    Phase.CLOSED: "job closed",
    Phase.ABANDONED: "job abandoned",
}
"""Phases that a mark does not tell already."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Moment:
    """Something at a time."""

    time_s: float
    wall: str
    exact: str
    since: str
    what: str
    note: str = ""
    by_hand: bool = False
    """A person said so, or it was worked out."""


@dataclass(frozen=True, slots=True, kw_only=True)
class AlarmRow:
    """One alarm, or several with one cause."""

    name: str
    where: str
    raised: str
    seen: str
    cleared: str
    lasted: str
    text: str
    action: str
    count: int


@dataclass(frozen=True, slots=True, kw_only=True)
class SensorRow:
    """One channel."""

    name: str
    kind: str
    readings: str
    reached: str
    faults: str


@dataclass(frozen=True, slots=True, kw_only=True)
class GapRow:
    """A span that nobody watched."""

    start: str
    end: str
    lasted: str
    why: str


def moments(story: Story, words: TimeWords) -> tuple[Moment, ...]:
    """Give all marks, phases and the gel in their order."""
    told = [*(_mark(mark, words) for mark in story.marks), *_phases(story, words)]
    if story.gel is not None:
        told.append(_gel(story, words))
    if story.pour is not None and story.pour.assumed:
        told.append(_moment(story.pour.time_s, words, "resin mixed", note="not marked; assumed"))
    return tuple(sorted(told, key=lambda moment: moment.time_s))


def key_moments(story: Story, words: TimeWords) -> tuple[Moment, ...]:
    """Give the moments for the first page: without tests of the valve and what was set aside.

    What happened several times is one line with its count; the appendix has each by itself.
    """
    tests = {MARK_WORDS["valve_shut"], MARK_WORDS["valve_open"], PHASE_WORDS[Phase.WAITING]}
    taken = {mark.at_s for mark in story.marks if not mark.taken}
    alike: dict[str, list[Moment]] = {}
    for moment in moments(story, words):
        if moment.what not in tests and not (moment.by_hand and moment.time_s in taken):
            alike.setdefault(moment.what, []).append(moment)
    return tuple(
        replace(first, note=f"{len(more) + 1} times, last {more[-1].since}") if more else first
        for first, *more in alike.values()
    )


def _mark(mark: MarkTaken, words: TimeWords) -> Moment:
    note = mark.text if mark.taken else f"set aside: {mark.text}"
    return _moment(
        mark.at_s, words, MARK_WORDS.get(mark.name, spaced(mark.name)), note=note, by_hand=True
    )


def _phases(story: Story, words: TimeWords) -> list[Moment]:
    marked = {mark.at_s for mark in story.marks if mark.taken}
    return [
        _moment(held.since_s, words, PHASE_WORDS[held.phase])
        for held in story.phases
        if held.phase in PHASE_WORDS and held.since_s not in marked
    ]


def _gel(story: Story, words: TimeWords) -> Moment:
    assert story.gel is not None, "asked for only where there is one"
    low, high = words.minutes(story.gel.low_s), words.minutes(story.gel.high_s)
    return _moment(
        story.gel.gel_s,
        words,
        "gel, from the temperatures",
        note=f"{low:.0f} to {high:.0f}{NBSP}min",
    )


def _moment(
    time_s: float, words: TimeWords, what: str, *, note: str = "", by_hand: bool = False
) -> Moment:
    return Moment(
        time_s=time_s,
        wall=words.wall(time_s),
        exact=words.wall_seconds(time_s),
        since=words.since(time_s),
        what=what,
        note=note,
        by_hand=by_hand,
    )


def alarm_rows(story: Story, words: TimeWords) -> tuple[AlarmRow, ...]:
    """Give the alarms of the job, those of one cause as one row.

    What rings once the job has ended, because somebody unplugged the board, is none of it.
    """
    during = (life for life in story.alarms if life.raised_s <= story.end_s)
    return tuple(_alarm(causes, story, words) for causes in by_cause(during))


def _alarm(causes: Sequence[AlarmLife], story: Story, words: TimeWords) -> AlarmRow:
    first = causes[0]
    ends = [life.cleared_s for life in causes]
    cleared_s = None if any(end is None for end in ends) else max(end for end in ends if end)
    until_s = story.end_s if cleared_s is None else cleared_s
    return AlarmRow(
        name=spaced(first.name),
        where=_channels([life.channel for life in causes if life.channel]),
        raised=f"{words.wall(first.raised_s)} ({words.since(first.raised_s)})",
        seen=_seen(causes, words),
        cleared="not cleared" if cleared_s is None else words.wall(cleared_s),
        lasted=duration(until_s - first.raised_s),
        text=first.text,
        action=first.action,
        count=len(causes),
    )


def _channels(names: list[str]) -> str:
    if len(names) <= NAMED_CHANNELS:
        return listed(names)
    return f"{', '.join(names[:2])} and {len(names) - 2} more"


def _seen(causes: Sequence[AlarmLife], words: TimeWords) -> str:
    seen = [life for life in causes if life.seen_s is not None]
    if not seen:
        return "by nobody"
    first = min(seen, key=lambda life: life.seen_s or 0.0)
    after = duration((first.seen_s or 0.0) - first.said_s)
    by = f", {first.seen_by}" if first.seen_by else ""
    return f"{words.wall(first.seen_s or 0.0)}, after {after}{by}"


def sensor_rows(
    facts: Facts, measured: Mapping[str, Measured], words: TimeWords
) -> tuple[SensorRow, ...]:
    """Give the channels with what they read and when they were not believed."""
    return tuple(
        _sensor(sensor, measured[sensor.channel.name], facts.story, words)
        for sensor in facts.sensors
    )


def _sensor(sensor: Sensor, held: Measured, story: Story, words: TimeWords) -> SensorRow:
    tally = held.tally
    spell = mbar if sensor.channel.role.quantity is Quantity.PRESSURE else celsius
    missing = f", {tally.missing} blank" if tally.missing else ""
    return SensorRow(
        name=sensor.channel.name,
        kind=sensor.kind,
        readings=f"{tally.readings}{missing}",
        reached=_reached(tally.lowest, tally.highest, spell),
        faults="; ".join(
            f"{spaced(fault.kind)} {words.wall_seconds(fault.start_s)}, "
            + (
                f"{duration(fault.end_s - fault.start_s)}"
                if fault.end_s is not None
                else "to the end"
            )
            for fault in story.faults
            if fault.channel == sensor.channel.name and fault.start_s <= story.end_s
        )
        or "none",
    )


def _reached(low: Extreme | None, high: Extreme | None, spell: Callable[[float], str]) -> str:
    if low is None or high is None:
        return DASH
    return f"{spell(low.value)} to {spell(high.value)}"


def gap_rows(story: Story, words: TimeWords) -> tuple[GapRow, ...]:
    """Give the spans that nobody watched."""
    return tuple(
        GapRow(
            start=words.wall_seconds(gap.span.start_s),
            end=words.wall_seconds(gap.span.end_s),
            lasted=duration(gap.span.length_s),
            why=gap.why,
        )
        for gap in story.gaps
    )
