"""What the report is made from: plain values, whoever read them.

Pure. `Gathering` takes in the readings as they stream by; the rest is small.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime

from firmware_host.config.schema import JobDescription
from firmware_host.model.channels import Channel, Role
from firmware_host.report.decimate import Floats, Trace
from firmware_host.report.story import Story
from firmware_host.report.tally import Span, Tally
from firmware_host.report.words import MBAR_PA

MARGIN_S = 120.0
"""Shown before the pour and after the end."""
TEST_MARGIN_S = 45.0
EARLY_FACTOR = 3.0
"""A job that is this many times longer than its wet hours gets a picture of those alone."""
EARLY_AFTER_GEL_S = 3600.0
TEST_COLUMNS = 320


@dataclass(frozen=True, slots=True, kw_only=True)
class Head:
    """Where the record stood when it was read: its last rows and their chained checks."""

    inputs: int
    input_check: int
    events: int
    event_check: int
    lost_inputs: int
    hashed_inputs: int = 0
    """Inputs before the newest block of the chain of hashes."""
    sha256: str = ""
    """Its hash; empty where there is none."""


@dataclass(frozen=True, slots=True, kw_only=True)
class EarlierPage:
    """A page that was made of the record when it was shorter; it is kept in there."""

    n: int
    sha256: str
    inputs: int
    """Inputs that the record held then."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Sensor:
    """One channel of the bench."""

    channel: Channel
    kind: str
    """What it is, in words; empty where nothing tells it."""
    calibrated_on: date | None = None
    """When it was compared with something known; None where nobody says."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Facts:
    """One job folder, read."""

    folder: str
    part: str
    bench: str
    version: str
    from_log: bool
    """Replayed from a log, not watched as it happened."""
    zero_wall: datetime | None
    clock_rate: float
    clock_steps_s: tuple[float, ...]
    """By how much the board's clock was set during the job."""
    job: JobDescription
    job_sha256: str
    plan_sheet: str = ""
    """The batch sheet as it stood at the pour."""
    sensors: tuple[Sensor, ...]
    story: Story
    head: Head
    earlier_pages: tuple[EarlierPage, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Windows:
    """Spans that are drawn."""

    whole: Span
    early: Span | None
    """From the pour to an hour after the gel; None where the whole job is hardly longer."""
    tests: tuple[Span, ...]
    """One around each drop test."""


def plan_windows(story: Story) -> Windows:
    """Say which spans are drawn."""
    starts = [mark.at_s for mark in story.marks] + ([story.pour.time_s] if story.pour else [])
    start_s = max(min(starts, default=0.0) - MARGIN_S, 0.0)
    end_s = min(story.end_s + MARGIN_S, story.last_s) if story.is_over else story.last_s
    whole = Span(start_s, max(end_s, start_s + 60.0))
    return Windows(
        whole=whole,
        early=_early(story, whole),
        tests=tuple(
            Span(test.start_s - TEST_MARGIN_S, test.end_s + TEST_MARGIN_S) for test in story.tests
        ),
    )


def _early(story: Story, whole: Span) -> Span | None:
    if story.gel is None:
        return None
    early = Span(whole.start_s, story.gel.high_s + EARLY_AFTER_GEL_S)
    return early if whole.length_s > EARLY_FACTOR * early.length_s else None


@dataclass(frozen=True, slots=True, kw_only=True)
class Measured:
    """What the readings of one channel amount to."""

    tally: Tally
    whole: Trace
    early: Trace | None
    tests: tuple[Trace, ...]
    """For the bag alone."""


class Gathering:
    """Takes the readings of a job in, run by run."""

    def __init__(
        self, groups: Sequence[Sequence[Channel]], story: Story, job: JobDescription
    ) -> None:
        self.windows = plan_windows(story)
        self._limit_pa = job.bag.pressure_limit_mbar * MBAR_PA
        self._groups = tuple(
            tuple(self._empty(channel, story) for channel in channels) for channels in groups
        )
        self._names = tuple(tuple(channel.name for channel in channels) for channels in groups)

    def take(self, group: int, time_s: Floats, values: Sequence[Floats]) -> None:
        """Take a run of one group's readings, a column for each of its channels."""
        for measured, column in zip(self._groups[group], values, strict=True):
            measured.tally.take(time_s, column)
            measured.whole.take(time_s, column)
            if measured.early is not None:
                measured.early.take(time_s, column)
            for trace in measured.tests:
                trace.take(time_s, column)

    def measured(self) -> dict[str, Measured]:
        """Give what was gathered, by channel."""
        return {
            name: measured
            for names, group in zip(self._names, self._groups, strict=True)
            for name, measured in zip(names, group, strict=True)
        }

    def _empty(self, channel: Channel, story: Story) -> Measured:
        is_bag = channel.role is Role.BAG
        whole, early = self.windows.whole, self.windows.early
        return Measured(
            tally=Tally(
                window=story.watch,
                blind=story.blind(channel.name),
                limit=self._limit_pa if is_bag else None,
            ),
            whole=Trace(whole.start_s, whole.end_s),
            early=Trace(early.start_s, early.end_s) if early else None,
            tests=tuple(
                Trace(span.start_s, span.end_s, TEST_COLUMNS)
                for span in (self.windows.tests if is_bag else ())
            ),
        )
