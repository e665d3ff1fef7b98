"""From a job folder to its page: the record read in one pass, judged, drawn, put together."""

from __future__ import annotations

import gc
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime
from itertools import pairwise
from pathlib import Path
from typing import TYPE_CHECKING

from firmware_host.clock import Clock
from firmware_host.config.load import parse_bench, parse_job
from firmware_host.config.schema import Bench, BenchChannel, ChannelKind, JobDescription
from firmware_host.errors import InputError
from firmware_host.model.channels import Channel
from firmware_host.model.samples import Input
from firmware_host.outputs.attachment import attachments
from firmware_host.outputs.record_columns import FrameColumns, read_columns
from firmware_host.outputs.record_reader import Record, open_record
from firmware_host.outputs.record_resume import ResumePoint, resume_point
from firmware_host.outputs.record_schema import JOB_NAME, PAGE_NAME, Source
from firmware_host.report.build import build
from firmware_host.report.charts import draw
from firmware_host.report.facts import EarlierPage, Facts, Gathering, Head, Sensor
from firmware_host.report.render import render
from firmware_host.report.story import Story, tell

if TYPE_CHECKING:
    # Loads the whole core, which a page needs nothing of.
    from firmware_host.replay import Progress

LOOK_EVERY_S = 0.5
READING_SHARE = 0.25
"""Of the time that a page takes; the rest is drawing."""
CLOCK_STEP_S = 2.0
"""A board's clock that was set by less than this is not worth a word."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Made:
    """A page, and the folder it belongs to."""

    folder: Path
    page: str


def wait_for_end(place: Path, longest_s: float, clock: Clock) -> None:
    """Wait until the record says that its job has ended, or the time is over."""
    until_s = clock.monotonic_s() + longest_s
    while clock.monotonic_s() < until_s:
        with open_record(place, frames_too=False) as record:
            if record.is_over:
                return
        clock.sleep(LOOK_EVERY_S)


@contextmanager
def _uncollected() -> Iterator[None]:
    """Keep the collector of cycles away: little is let go before the page is made."""
    was_on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_on:
            gc.enable()


@_uncollected()
def make_page(place: Path, progress: Progress) -> Made:
    """Read a job folder and make its page. Raises RecordError for a record that is not sound."""
    with open_record(place, frames_too=False) as record:
        job = parse_job(record.job_toml(), str(record.folder / JOB_NAME))
        point = resume_point(record)
        events, last_s = tuple(record.events()), point.last_time_s or 0.0
        work_s = job.job.work_time_min * 60.0
        story = tell(events, (), work_s=work_s, last_s=last_s)
        gathering = Gathering([group.channels for group in record.groups], story, job)
        others = _gather(record, gathering, lambda share: progress(READING_SHARE * share))
        story = tell(events, others, work_s=work_s, last_s=last_s)
        facts = _facts(record, point, job, story)
    report = build(facts, gathering.measured(), gathering.windows)
    page = render(report, draw(report.pictures))
    progress(1.0)
    return Made(folder=record.folder, page=page)


def _gather(record: Record, gathering: Gathering, progress: Progress) -> list[Input]:
    """Take all frames in; gives the inputs that are none."""
    last = record.last_input
    others: list[Input] = []
    for told, number in read_columns(record):
        if isinstance(told, FrameColumns):
            gathering.take(told.group, told.time_s, told.values)
        else:
            others.append(told)
        progress(number / last)
    progress(1.0)
    return others


def _facts(record: Record, point: ResumePoint, job: JobDescription, story: Story) -> Facts:
    meta = record.meta
    bench = _bench(meta.bench_text)
    return Facts(
        folder=record.folder.absolute().name,
        part=meta.part,
        bench=bench.bench.name if bench else "",
        version=meta.version,
        from_log=meta.source is Source.LOG,
        zero_wall=datetime.fromisoformat(meta.zero_wall) if meta.zero_wall else None,
        clock_rate=meta.clock_rate,
        clock_steps_s=_clock_steps(record),
        job=job,
        job_sha256=meta.job_sha256,
        plan_sheet=meta.plan_sheet,
        sensors=tuple(
            _sensor(channel, bench) for group in record.groups for channel in group.channels
        ),
        story=story,
        head=Head(
            inputs=point.inputs,
            input_check=point.input_crc,
            events=point.events,
            event_check=point.event_crc,
            lost_inputs=record.lost_inputs,
            hashed_inputs=0 if point.head is None else point.head.inputs,
            sha256="" if point.head is None else point.head.sha256,
        ),
        earlier_pages=tuple(
            EarlierPage(n=held.n, sha256=held.sha256, inputs=held.inputs)
            for held in attachments(record)
            # A page made again of the very same rows is the same page, and must not name itself.
            if held.name == PAGE_NAME and held.inputs < point.inputs
        ),
    )


def _bench(text: str) -> Bench | None:
    """Read the bench file as it was; None for a log without one, or one of another version."""
    if not text.strip():
        return None
    try:
        return parse_bench(text, "bench.toml")
    except InputError:
        return None


def _sensor(channel: Channel, bench: Bench | None) -> Sensor:
    wired = {held.name: held for held in bench.channel} if bench else {}
    held = wired.get(channel.name)
    if held is None:
        return Sensor(channel=channel, kind="not described")
    return Sensor(channel=channel, kind=_kind(held), calibrated_on=held.calibrated_on)


def _kind(held: BenchChannel) -> str:
    if held.kind.is_register:
        return f"gauge on a register of kind {held.kind.value}"
    if held.kind is ChannelKind.BMP280:
        return f"barometer chip {held.kind.value}"
    if held.kind.is_adc and held.cold_channel is None:
        return f"{held.reference.value} pressure transducer on {held.kind.value}"
    if held.kind is ChannelKind.RTD31865:
        return f"resistance thermometer on {held.kind.value}"
    return f"thermocouple {held.couple.value} on {held.kind.value}"


def _clock_steps(record: Record) -> tuple[float, ...]:
    """By how much the wall clock moved against the monotonic one, within each run of the daemon.

    A demo's clock runs fast and its notes are as coarse; there the wall clock is made, not set.
    """
    if record.meta.clock_rate != 1.0:
        return ()
    steps = []
    notes = record.wall_clock()
    for before, after in pairwise(notes):
        walls = (datetime.fromisoformat(note.wall) for note in (after, before))
        moved_s = next(walls).timestamp() - next(walls).timestamp()
        step_s = moved_s - (after.mono_s - before.mono_s)
        if after.session == before.session and abs(step_s) > CLOCK_STEP_S:
            steps.append(step_s)
    return tuple(steps)
