"""What the record costs: a durable commit, a stored value, and a month of frames.

A commit is held against a bare append and `fdatasync` of as many bytes as it wrote to its log, turn
by turn. A month's record against one of an hour: to find where it stands, to look at its last ten
minutes, to look at all of it, thinned. The month's rows are made by SQLite itself, so their checks
mean nothing; none of the three looks at them. A daemon that takes a job up again also looks at
every page and judges every row once more; that grows with the job, and is not measured here.
"""

from __future__ import annotations

import os
import sqlite3
import statistics
import tempfile
from collections.abc import Callable, Sequence
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path
from time import perf_counter

from firmware_host.outputs.raw_words import pack_words
from firmware_host.outputs.record_file import RecordFile
from firmware_host.outputs.record_reader import open_record
from firmware_host.outputs.record_resume import resume
from firmware_host.outputs.record_schema import RECORD_NAME
from firmware_host.outputs.record_sequence import RowSequence
from tests.bench.counts import Count, Counted
from tests.outputs.record_parts import GROUPS, RAW, frame_at, make_folder

NAME = "record_costs"
FULL_COMMITS, SAMPLE_COMMITS = 2_000, 100
FRAMES_EACH = 10
"""A second of six channels at ten frames a second, the length of one commit."""
VALUE_FRAMES = 5_000
HOUR_FRAMES = 36_000
FULL_DAYS, SAMPLE_DAYS = 30.0, 0.25
PERIOD_MS = 100
VIEW_S, READINGS = 600.0, 300
TURNS = 15
MOST_COMMIT, MOST_BYTES, MOST_OPEN, MOST_LIVE, MOST_WHOLE = 1.5, 12.0, 1.5, 1.2, 4.0
NOISE = 1.6
"""A short run on a busy machine: the median of few turns of a fraction of a millisecond."""


@dataclass(frozen=True, slots=True)
class Commits:
    """Times of commits and of the bare writes between them, in seconds."""

    ours: list[float]
    bare: list[float]

    def ratio(self, share: float) -> float:
        """Hold a quantile of ours against the same of the bare writes'."""
        return _quantile(self.ours, share) / _quantile(self.bare, share)


def run(seed: int, *, full: bool) -> Counted:
    """Measure all of it."""
    del seed  # nothing is drawn
    slack = 1.0 if full else NOISE
    with tempfile.TemporaryDirectory(prefix="bv-") as name:
        base = Path(name)
        commits = _commits(base / "commits", FULL_COMMITS if full else SAMPLE_COMMITS)
        bytes_per_value = _bytes_per_value(base / "values")
        hour = _long(base / "hour", HOUR_FRAMES)
        days = FULL_DAYS if full else SAMPLE_DAYS
        month = _long(base / "month", round(days * 24 * HOUR_FRAMES))
        size = (month / RECORD_NAME).stat().st_size
        opened = _against(resume, month, hour)
        live = _against(_live_view, month, hour)
        whole = _against(_whole_view, month, hour)
    p99 = commits.ratio(0.99)
    return Counted(
        name=NAME,
        counts=(
            Count(what="commits", value=len(commits.ours)),
            Count(
                what="a commit against a bare write, p50",
                value=commits.ratio(0.5),
                at_most=MOST_COMMIT * slack,
            ),
            Count(
                what="a commit against a bare write, p99",
                value=p99,
                at_most=MOST_COMMIT if full else None,
            ),
            Count(what="bytes per stored value", value=bytes_per_value, at_most=MOST_BYTES),
            Count(what="days of the long record", value=days),
            Count(what="its size, MB", value=size / 1e6),
            Count(what="opened, against an hour", value=opened, at_most=MOST_OPEN * slack),
            Count(what="last ten minutes, against", value=live, at_most=MOST_LIVE * slack),
            Count(what="the whole job, against", value=whole, at_most=MOST_WHOLE * slack),
        ),
        lines=(
            f"ours p50 {_quantile(commits.ours, 0.5) * 1e3:.3f} ms, "
            f"p99 {_quantile(commits.ours, 0.99) * 1e3:.3f} ms; "
            f"bare p50 {_quantile(commits.bare, 0.5) * 1e3:.3f} ms, "
            f"p99 {_quantile(commits.bare, 0.99) * 1e3:.3f} ms",
        ),
    )


def _commits(base: Path, count: int) -> Commits:
    folder = make_folder(base)
    file = RecordFile(folder / RECORD_NAME)
    log = folder / f"{RECORD_NAME}-wal"
    sequence = RowSequence(GROUPS, inputs=0, input_crc=0, events=0, event_crc=0)
    found = Commits([], [])
    bare = os.open(base / "bare", os.O_CREAT | os.O_WRONLY)
    page, grown = 4096 + 24, 0
    for turn in range(count):
        rows = [
            row
            for number in range(FRAMES_EACH)
            for row in sequence.add(frame_at(turn * FRAMES_EACH + number + 1), (), RAW, None)
        ]
        before = log.stat().st_size if log.exists() else 0
        begun_s = perf_counter()
        file.write(rows)
        found.ours.append(perf_counter() - begun_s)
        # Once the log is as long as it gets it is written over, and no longer grows.
        grown = max(log.stat().st_size - before, 0) or grown
        begun_s = perf_counter()
        os.write(bare, bytes(grown or page))
        os.fdatasync(bare)
        found.bare.append(perf_counter() - begun_s)
    file.close()
    os.close(bare)
    return found


def _bytes_per_value(base: Path) -> float:
    folder = make_folder(base)
    empty = (folder / RECORD_NAME).stat().st_size
    file = RecordFile(folder / RECORD_NAME)
    sequence = RowSequence(GROUPS, inputs=0, input_crc=0, events=0, event_crc=0)
    file.write(
        row
        for number in range(1, VALUE_FRAMES + 1)
        for row in sequence.add(frame_at(number), (), RAW, number / 2 + 0.004)
    )
    file.leave_one_file()
    grown = (folder / RECORD_NAME).stat().st_size - empty
    return grown / (VALUE_FRAMES * len(GROUPS[0].channels))


def _long(base: Path, frames: int) -> Path:
    folder = make_folder(base)
    with closing(sqlite3.connect(folder / RECORD_NAME, isolation_level=None)) as made:
        made.execute("PRAGMA journal_mode=OFF")
        made.execute("PRAGMA synchronous=OFF")
        made.execute(
            "WITH RECURSIVE k(n) AS (SELECT 1 UNION ALL SELECT n + 1 FROM k WHERE n < ?) "
            f"INSERT INTO frame_0 SELECT n, n * {PERIOD_MS}, 10000 + n % 90000, 9005, "
            "293150 + n % 1000, 294000, 293900, 292001, NULL, ?, 4, n * 2654435761 "
            "% 2147483647 FROM k",
            (frames, pack_words(RAW)),
        )
    return folder


def _against(look: Callable[[Path], object], long: Path, short: Path) -> float:
    """Median ratio of CPU and wait of a look at either, turn by turn; the first one warms up."""
    ratios = []
    for turn in range(TURNS + 1):
        begun_s = perf_counter()
        look(long)
        between_s = perf_counter()
        look(short)
        end_s = perf_counter()
        if turn:
            ratios.append((between_s - begun_s) / (end_s - between_s))
    return statistics.median(ratios)


def _live_view(folder: Path) -> int:
    with open_record(folder, frames_too=False) as record:
        last = record.last_row("frame_0")
        assert last is not None
        end_s = record.decode_input(last).given.time_s
        return len(list(record.thinned_frames(0, end_s - VIEW_S, end_s, READINGS)))


def _whole_view(folder: Path) -> int:
    with open_record(folder, frames_too=False) as record:
        last = record.last_row("frame_0")
        assert last is not None
        end_s = record.decode_input(last).given.time_s
        return len(list(record.thinned_frames(0, 0.0, end_s, READINGS)))


def _quantile(values: Sequence[float], share: float) -> float:
    return sorted(values)[int(share * (len(values) - 1))]
