"""Replaying a log or a record through the same core as the daemon.

A log gives answers; a record gives the very events it holds, and where it does not, the first
differences are named. Nothing here reads a clock: a replay takes its time from its inputs.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

import msgspec

from firmware_host.config.load import parse_job
from firmware_host.config.schema import JobDescription
from firmware_host.core.answers import Answers, Json
from firmware_host.core.monitor import Monitor
from firmware_host.errors import InputError
from firmware_host.history.prior import with_prior
from firmware_host.inputs.csv_log import LogFile
from firmware_host.model.events import Event
from firmware_host.model.samples import Frame, Input
from firmware_host.outputs.record_reader import Record
from firmware_host.outputs.record_schema import JOB_NAME, date_of

TELL_EVERY = 2000
"""Frames between two words of progress."""
DIFFERENCES_SHOWN = 10

Progress = Callable[[float], None]
"""Told the share that is done, 0 to 1."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Said:
    """One input with what the core answered; the last words carry no input."""

    given: Input | None
    events: tuple[Event, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Comparison:
    """A record's events against those of its replay."""

    events: int
    differences: tuple[str, ...]


def fold(monitor: Monitor, inputs: Iterable[Input]) -> Iterator[Said]:
    """Take inputs through a monitor, one by one, and end with its last words."""
    for given in inputs:
        yield Said(given=given, events=tuple(monitor.step(given)))
    yield Said(given=None, events=tuple(monitor.finish()))


def replay_log(log: LogFile, job: JobDescription, progress: Progress) -> Iterator[Said]:
    """Take a log through the core."""
    first = log.first_wall
    monitor = Monitor(job, (log.group,), poured_on=None if first is None else first.date())
    return fold(monitor, _counted(log.inputs(), log.rows, progress))


def gather(said: Iterable[Said]) -> Json:
    """Collect what was said into the contract's answers."""
    answers = Answers()
    for word in said:
        for event in word.events:
            answers.take(event)
    return answers.document()


def replay_record(record: Record, progress: Progress) -> Iterator[Said]:
    """Take a record through the core again."""
    return fold(monitor_of(record), _counted(record.inputs(), record.frame_count, progress))


def monitor_of(record: Record) -> Monitor:
    """Give the core that a record began with: its job description, and what was known then."""
    job = parse_job(record.job_toml(), str(record.folder / JOB_NAME))
    job = with_prior(job, record.meta.learnt)
    poured_on = date_of(record.meta.zero_wall)
    return Monitor(job, record.groups, record.meta.learnt, poured_on)


def compare(record: Record, said: Iterable[Said]) -> Comparison:
    """Hold the events of a replay against those that the record holds.

    The last words are left out: a daemon that is stopped does not end its job.
    """
    stored = record.events()
    differences: list[str] = []
    count = 0
    for word in said:
        if word.given is None:
            continue
        for event in word.events:
            count += 1
            kept = next(stored, None)
            if kept != event and len(differences) < DIFFERENCES_SHOWN:
                differences.append(_difference(count, kept, event))
    left = sum(1 for _ in stored)
    if left:
        differences.append(f"The record holds {left} events more than its replay says.")
    return Comparison(events=count, differences=tuple(differences))


def write_answers(path: Path, document: Json) -> None:
    """Write the answers as JSON, whole or not at all. Raises InputError where that cannot be."""
    text = msgspec.json.format(msgspec.json.encode(document), indent=1) + b"\n"
    try:
        part = path.with_name(path.name + ".part")
        try:
            part.write_bytes(text)
            part.replace(path)
        finally:
            part.unlink(missing_ok=True)
    except (OSError, ValueError) as error:  # ValueError: the path has no file name, or a zero byte
        why = getattr(error, "strerror", None) or error
        raise InputError([f"{path} cannot be written: {why}. Name another with --json."]) from None


class LogClock:
    """The clock of a log: its zero is where the log begins, or now where it has no dates."""

    rate = 1.0

    def __init__(self, first_wall: datetime | None, now: datetime) -> None:
        self._wall = first_wall or now.astimezone(UTC)

    def monotonic_s(self) -> float:
        """See `clock.Clock`."""
        return 0.0

    def asleep_s(self) -> float:
        """See `clock.Clock`."""
        return 0.0

    def wall(self) -> datetime:
        """See `clock.Clock`."""
        return self._wall

    def sleep(self, seconds: float) -> None:
        """Nothing waits in a replay."""


def _counted(inputs: Iterable[Input], frames: int, progress: Progress) -> Iterator[Input]:
    done = 0
    for given in inputs:
        if isinstance(given, Frame):
            done += 1
            if done % TELL_EVERY == 0 and frames:
                progress(min(done / frames, 1.0))
        yield given
    progress(1.0)


def _difference(number: int, kept: Event | None, said: Event) -> str:
    if kept is None:
        return f"Event {number}: the record ends, the replay says {said}."
    if type(kept) is not type(said):
        return f"Event {number}: the record holds {kept}, the replay says {said}."
    names = [
        f"{name} {getattr(kept, name)!r} -> {getattr(said, name)!r}"
        for name in kept.__slots__
        if getattr(kept, name) != getattr(said, name)
    ]
    return f"Event {number} ({type(kept).__name__} at {kept.time_s} s): {', '.join(names)}."
