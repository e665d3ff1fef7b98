"""Which job is watched, in which folder, and where its time line stands.

A job that was cut off is taken up again when the same job.toml is watched within twelve hours. What
only the first start of a job needs is loaded there: a board that comes back after a cut of power
shall sample at once.
"""

from __future__ import annotations

import logging
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from firmware_host.clock import Clock, boot_id
from firmware_host.config.load import load_bench, load_job
from firmware_host.config.schema import Bench, JobDescription
from firmware_host.errors import RecordError
from firmware_host.history.prior import RatePrior
from firmware_host.model.samples import Group
from firmware_host.outputs.job_folder import create_job_folder, find_open_job, job_sha256
from firmware_host.outputs.record_resume import ResumePoint, resume
from firmware_host.outputs.record_schema import create_record, describe
from firmware_host.version import VERSION

RESUME_WITHIN_S = 12.0 * 3600.0
"""A job left alone for longer is not gone on with: the same file is then a new pour."""

_LOG = logging.getLogger(__name__)


@dataclass(frozen=True, slots=True, kw_only=True)
class Watch:
    """What a person asked to be watched."""

    bench_path: Path
    bench: Bench
    job_path: Path
    job: JobDescription
    job_bytes: bytes

    def beside_bench(self, path: str) -> Path:
        """Paths in a bench file count from the bench file's own folder."""
        return self.bench_path.parent / path


def read_watch(bench_path: Path, job_path: Path) -> Watch:
    """Read and check both files. Raises InputError with every problem of the first bad one."""
    bench, job = load_bench(bench_path), load_job(job_path)
    return Watch(
        bench_path=bench_path,
        bench=bench,
        job_path=job_path,
        job=job,
        job_bytes=job_path.read_bytes(),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """Where the job's record is, and where its time line stands."""

    folder: Path
    zero_mono_s: float
    zero_wall: str
    last_s: float | None
    """Latest time that the record knows; None for a job that begins now."""
    learnt: RatePrior | None
    """What was known of the resin at the pour."""


def find_place(watch: Watch, groups: tuple[Group, ...], clock: Clock, *, fresh: bool) -> Place:
    """Take up the job that was cut off, or begin a new folder; `fresh` always begins."""
    base = watch.beside_bench(watch.bench.record.folder)
    if not fresh:
        found = find_open_job(base, watch.job_bytes)
        for problem in found.problems:
            _LOG.warning("%s", problem)
        try:
            if found.folder is not None and (place := _taken_up(found.folder, groups, clock)):
                return place
        except RecordError as error:
            _LOG.warning("%s A new job begins.", error)
    return _begun(watch, base, groups, clock)


def _begun(watch: Watch, base: Path, groups: tuple[Group, ...], clock: Clock) -> Place:
    from firmware_host.outputs.planned import plan_at_start  # a job that goes on has its plan

    folder = create_job_folder(base, watch.job.job.part, clock.wall(), watch.job_bytes)
    planned = plan_at_start(watch.job, base, clock.wall().date())
    meta = describe(
        clock,
        plan_sheet=planned.sheet,
        learnt=planned.learnt,
        version=VERSION,
        part=watch.job.job.part,
        bench_text=watch.bench_path.read_text(encoding="utf-8-sig"),
        job_sha256=job_sha256(watch.job_bytes),
        groups=groups,
    )
    create_record(folder, meta)
    return Place(
        folder=folder,
        zero_mono_s=meta.zero_mono_s,
        zero_wall=meta.zero_wall,
        last_s=None,
        learnt=planned.learnt,
    )


def _taken_up(folder: Path, groups: tuple[Group, ...], clock: Clock) -> Place | None:
    point = resume(folder)
    zero_mono_s = _zero_now(point, clock)
    last_s = point.last_time_s
    gap_s = clock.monotonic_s() - zero_mono_s - (last_s or 0.0)
    if gap_s > RESUME_WITHIN_S:
        hours = gap_s / 3600.0
        _LOG.warning("%s was left alone for %.0f h: a new job begins.", folder, hours)
        return None
    if point.meta.groups != groups:
        _LOG.warning("%s was watched with other channels: a new job begins.", folder)
        return None
    return Place(
        folder=folder,
        zero_mono_s=zero_mono_s,
        zero_wall=point.meta.zero_wall,
        last_s=last_s,
        learnt=point.meta.learnt,
    )


def _zero_now(point: ResumePoint, clock: Clock) -> float:
    """Find the job's zero on this boot's monotonic clock; across a reboot by wall time.

    A board without a battery clock may boot in the past: the job then goes on right after its
    last reading, and the length of the gap is not known.
    """
    session = point.session
    last_s = point.last_time_s or 0.0
    now_s = clock.monotonic_s()
    if session is not None and session.boot_id == boot_id() and boot_id():
        return session.zero_mono_s
    if point.wall is None or session is None:
        return now_s - last_s
    passed_s = (clock.wall() - datetime.fromisoformat(point.wall.wall)).total_seconds()
    since_zero_s = point.wall.mono_s - session.zero_mono_s + passed_s
    return now_s - max(since_zero_s, last_s)
