"""What the charts show, as numbers in the units of the page: nothing here draws.

Pure. Times are minutes since mixing. A line breaks at NaN, wherever two readings lie too far
apart; conversion is shown from the gel on only, because before it there is nothing to stand on.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from firmware_host.model.channels import Role
from firmware_host.model.events import Phase
from firmware_host.report.decimate import Floats, Trace
from firmware_host.report.facts import Facts, Measured, Windows
from firmware_host.report.tally import Span
from firmware_host.report.words import MBAR_PA, TimeWords, spaced
from hardware.units import ZERO_CELSIUS_K

SILENT_MIN = 3.0
"""Conversion is said once a minute; over more than this nobody was there to say it."""
MOST_CLOCK_TICKS = 9
CLOCK_STEPS_MIN = (5.0, 10.0, 15.0, 30.0, 60.0, 120.0, 180.0, 240.0, 360.0, 720.0, 1440.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """One channel's line."""

    name: str
    role: Role
    minutes: Floats
    values: Floats


@dataclass(frozen=True, slots=True, kw_only=True)
class Stretch:
    """A span with a word in it."""

    start_min: float
    end_min: float
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Band:
    """An estimate with its 95 % interval."""

    minutes: Floats
    low: Floats
    middle: Floats
    high: Floats


@dataclass(frozen=True, slots=True, kw_only=True)
class Picture:
    """Vacuum, temperature and conversion over one window."""

    origin: str
    start_min: float
    end_min: float
    pressures: tuple[Line, ...]
    temperatures: tuple[Line, ...]
    conversion: Band | None
    pressure_limit_mbar: float
    highest_c: float
    gel_min: tuple[float, float, float] | None
    """Low, middle and high of the gel as a past event."""
    phases: tuple[Stretch, ...]
    tests: tuple[Stretch, ...]
    gaps: tuple[Stretch, ...]
    unseen_vacuum: tuple[Stretch, ...]
    moments: tuple[tuple[float, str], ...]
    """Marks of heat, which move the curves and need a word."""
    clock_ticks: tuple[tuple[float, str], ...]
    """Times of day along the top."""


@dataclass(frozen=True, slots=True, kw_only=True)
class TestPicture:
    """One drop test: the bag's pressure in it, and what the rule would have let in."""

    title: str
    bag: Line
    start_min: float
    end_min: float
    from_mbar: float | None
    """Where the rule's line begins; None where the bag was not read."""
    limit_mbar_per_min: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Pictures:
    """Everything that is drawn."""

    whole: Picture
    early: Picture | None
    tests: tuple[TestPicture, ...]


def pictures(
    facts: Facts, measured: Mapping[str, Measured], windows: Windows, words: TimeWords
) -> Pictures:
    """Put the numbers of all charts together."""
    early = windows.early
    return Pictures(
        whole=_picture(
            facts, {n: m.whole for n, m in measured.items()}, measured, windows.whole, words
        ),
        early=None
        if early is None
        else _picture(
            facts,
            {n: m.early for n, m in measured.items() if m.early is not None},
            measured,
            early,
            words,
        ),
        tests=_tests(facts, measured),
    )


def _picture(
    facts: Facts,
    traces: Mapping[str, Trace],
    measured: Mapping[str, Measured],
    window: Span,
    words: TimeWords,
) -> Picture:
    lines = [
        _line(
            sensor.channel.name,
            sensor.channel.role,
            traces[sensor.channel.name],
            measured[sensor.channel.name].tally.longest_s,
            words,
        )
        for sensor in facts.sensors
    ]
    story = facts.story
    gel = story.gel
    return Picture(
        origin=words.origin,
        start_min=words.minutes(window.start_s),
        end_min=words.minutes(window.end_s),
        pressures=tuple(line for line in lines if line.role in (Role.BAG, Role.PUMP)),
        temperatures=tuple(
            line for line in lines if line.role in (Role.PART, Role.MOULD, Role.SHOP, Role.CUP)
        ),
        conversion=_conversion(facts, window, words),
        pressure_limit_mbar=facts.job.bag.pressure_limit_mbar,
        highest_c=facts.job.limits.highest_temperature_c,
        gel_min=None
        if gel is None
        else (words.minutes(gel.low_s), words.minutes(gel.gel_s), words.minutes(gel.high_s)),
        phases=_phases(facts, window, words),
        tests=tuple(
            Stretch(
                start_min=words.minutes(test.start_s),
                end_min=words.minutes(test.end_s),
                text=str(test.number),
            )
            for test in story.tests
        ),
        gaps=_stretches([gap.span for gap in story.gaps], words),
        unseen_vacuum=_stretches(
            [
                span
                for sensor in facts.sensors
                if sensor.channel.role is Role.BAG
                for span in story.blind(sensor.channel.name)
            ],
            words,
        ),
        moments=tuple(
            (words.minutes(mark.at_s), spaced(mark.name))
            for mark in story.marks
            if mark.taken and mark.name in ("heat_on", "heat_off")
        ),
        clock_ticks=clock_ticks(window, words),
    )


def _stretches(spans: Sequence[Span], words: TimeWords) -> tuple[Stretch, ...]:
    return tuple(
        Stretch(
            start_min=words.minutes(span.start_s), end_min=words.minutes(span.end_s), text="unseen"
        )
        for span in spans
    )


def _line(name: str, role: Role, trace: Trace, longest_s: float, words: TimeWords) -> Line:
    time_s, values = trace.path(longest_s)
    pressure = role in (Role.BAG, Role.PUMP, Role.BAROMETER)
    return Line(
        name=name,
        role=role,
        minutes=(time_s - words.origin_s) / 60.0,
        values=values / MBAR_PA if pressure else values - ZERO_CELSIUS_K,
    )


def _conversion(facts: Facts, window: Span, words: TimeWords) -> Band | None:
    story = facts.story
    if story.gel is None:
        return None
    from_s = max(story.gel.gel_s, window.start_s)
    said = [one for one in story.cure if from_s <= one.time_s <= window.end_s]
    if len(said) < 2:
        return None
    minutes = np.array([words.minutes(one.time_s) for one in said])
    parts = (
        [one.low for one in said],
        [one.conversion for one in said],
        [one.high for one in said],
    )
    low, middle, high = (_broken(minutes, np.array(part) * 100.0) for part in parts)
    return Band(minutes=_broken(minutes, minutes), low=low, middle=middle, high=high)


def _broken(minutes: Floats, values: Floats) -> Floats:
    """Break a line wherever nothing was said for longer than the core is ever silent."""
    after = np.flatnonzero(np.diff(minutes) > SILENT_MIN) + 1
    return np.insert(values, after, np.nan)


def _phases(facts: Facts, window: Span, words: TimeWords) -> tuple[Stretch, ...]:
    held = facts.story.phases
    if not held:
        return ()
    ends_s = [after.since_s for after in held[1:]] + [window.end_s]
    return tuple(
        Stretch(
            start_min=words.minutes(max(phase.since_s, window.start_s)),
            end_min=words.minutes(min(end_s, window.end_s)),
            text=spaced(phase.phase.value),
        )
        for phase, end_s in zip(held, ends_s, strict=True)
        if phase.phase not in (Phase.CLOSED, Phase.ABANDONED)
        and end_s > phase.since_s
        and window.start_s < end_s
        and phase.since_s < window.end_s
    )


def clock_ticks(window: Span, words: TimeWords) -> tuple[tuple[float, str], ...]:
    """Whole times of day in a window, as minutes since mixing with the time's spelling."""
    if words.zero_wall is None:
        return ()
    midnight = words.zero_wall.replace(hour=0, minute=0, second=0, microsecond=0)
    zero_min = (words.zero_wall - midnight).total_seconds() / 60.0
    first_min, last_min = zero_min + window.start_s / 60.0, zero_min + window.end_s / 60.0
    fitting = (step for step in CLOCK_STEPS_MIN if (last_min - first_min) / step < MOST_CLOCK_TICKS)
    step = next(fitting, (last_min - first_min) // MOST_CLOCK_TICKS + 1.0)
    first = int(first_min // step) + 1
    ticks = [number * step for number in range(first, int(last_min // step) + 1)]
    return tuple(
        (words.minutes((tick - zero_min) * 60.0), words.wall((tick - zero_min) * 60.0 + 0.5))
        for tick in ticks
    )


def _tests(facts: Facts, measured: Mapping[str, Measured]) -> tuple[TestPicture, ...]:
    bags = [sensor.channel for sensor in facts.sensors if sensor.channel.role is Role.BAG]
    if not bags:
        return ()
    held = measured[bags[0].name]
    return tuple(
        TestPicture(
            title=f"Test {test.number}: {VERDICT_WORDS[test.verdict.value]}",
            bag=(
                line := _line(
                    bags[0].name,
                    Role.BAG,
                    trace,
                    held.tally.longest_s,
                    TimeWords(zero_wall=None, mixed_s=test.start_s),
                )
            ),
            start_min=0.0,
            end_min=(test.end_s - test.start_s) / 60.0,
            from_mbar=_first_in(line),
            limit_mbar_per_min=test.limit_pa_per_s * 60.0 / MBAR_PA,
        )
        for test, trace in zip(facts.story.tests, held.tests, strict=True)
    )


def _first_in(line: Line) -> float | None:
    inside = line.values[(line.minutes >= 0.0) & ~np.isnan(line.values)]
    return float(inside[0]) if len(inside) else None


VERDICT_WORDS = {"tight": "tight", "leaking": "leaking", "undecided": "not proven"}
"""The verdict as people read it."""
