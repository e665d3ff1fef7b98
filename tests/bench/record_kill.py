"""The daemon killed at random moments, over and over: what it said it had stored is there.

A board that never stops talking, the real daemon on the real record, and an onlooker who asks how
much is stored until the kill. After each kill the files are copied as they lie and read there, so
that the daemon itself finds what the kill has left. Kills fall while it starts, while it judges its
record once more, while it watches, and while it ends.
"""

from __future__ import annotations

import math
import random
import shutil
import signal
import statistics
import subprocess
import sys
import tempfile
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path

from firmware_host.clock import SystemClock
from firmware_host.errors import RecordError
from firmware_host.outputs.record_reader import Record, open_record
from firmware_host.outputs.record_rows import StoredInput
from firmware_host.outputs.record_verify import find_changes
from firmware_host.replay import compare, replay_record
from tests.bench.counts import Count, Counted
from tests.bench.talking_board import PERIOD_S, TalkingBoard, bag_pa, number_of
from tests.system.room import Child, Room

NAME = "record_kill"
FULL_JOBS, FULL_KILLS_PER_JOB = 20, 25
SAMPLE_KILLS = 2
STARTING_SHARE = 0.5
LONGEST_START_S = 1.5
LONGEST_LIFE_S = 2.0
"""From its first answer."""
UP_WITHIN_S = 60.0
LOOK_EVERY_S = 0.04
ENDING_SHARE = 0.1
LONGEST_ENDING_S = 0.3
AGAIN_WITHIN_S = 2.0
AGAIN_WITHIN_BARE_STARTS = 8.0
"""On a machine that is busy otherwise: so many starts of an interpreter with its array library,
taken beside each start of the daemon."""
BARE_START = "import numpy, sqlite3, ssl"
NO_JOB = Path("no job yet")


@dataclass(slots=True)
class Tally:
    """What the kills left."""

    moments: Counter[str] = field(default_factory=Counter)
    acknowledged: int = 0
    lost: int = 0
    doubled: int = 0
    unsound: int = 0
    again_s: list[float] = field(default_factory=list)
    """From the start of a process to the first sample that it has taken."""
    bare_starts: list[float] = field(default_factory=list)
    """The same in starts of a bare interpreter beside it."""
    gaps: int = 0
    first: str = ""
    """What went wrong first."""

    def blame(self, what: str) -> None:
        """Keep the first thing that went wrong."""
        self.first = self.first or what


@dataclass(slots=True)
class Job:
    """One job's room, and what is known of its record from outside."""

    room: Room
    board: TalkingBoard
    folder: Path = NO_JOB
    stored: int = 0
    """Frames that the daemon has said are stored."""
    held: list[StoredInput] = field(default_factory=list)
    begun_s: dict[int, tuple[float, float]] = field(default_factory=dict)
    """Monotonic start of each process, and how long a bare interpreter took beside it."""


def run(seed: int, *, full: bool) -> Counted:
    """Kill it five hundred times, or a few."""
    rng, tally = random.Random(seed), Tally()
    for number in range(FULL_JOBS if full else 1):
        with tempfile.TemporaryDirectory(prefix="bv-") as base:
            _one_job(Path(base), FULL_KILLS_PER_JOB if full else SAMPLE_KILLS, number, rng, tally)
    kills = tally.moments.total()
    late = sum(
        again_s > AGAIN_WITHIN_S and starts > AGAIN_WITHIN_BARE_STARTS
        for again_s, starts in zip(tally.again_s, tally.bare_starts, strict=True)
    )
    lines = [f"{'killed while it':<22}{'times':>6}"]
    lines += [f"{moment:<22}{times:>6}" for moment, times in sorted(tally.moments.items())]
    lines += [f"first: {tally.first}"] if tally.first else []
    return Counted(
        name=NAME,
        counts=(
            Count(what="kills", value=kills, at_least=SAMPLE_KILLS),
            Count(what="samples said to be stored", value=tally.acknowledged, at_least=1),
            Count(what="of them lost", value=tally.lost, at_most=0),
            Count(
                what="samples twice in a record, or out of order", value=tally.doubled, at_most=0
            ),
            Count(what="records that were not sound", value=tally.unsound, at_most=0),
            Count(what="gaps told as a row of their own", value=tally.gaps, at_least=1),
            Count(what="95 % bound of all three, per kill", value=3.0 / kills),
            Count(what="starts whose first sample is known", value=len(tally.again_s), at_least=1),
            Count(what="sampling again, median, s", value=statistics.median(tally.again_s)),
            Count(what="sampling again, longest, s", value=max(tally.again_s)),
            Count(
                what="the same in bare starts, median", value=statistics.median(tally.bare_starts)
            ),
            Count(
                what=f"starts above {AGAIN_WITHIN_S:g} s and {AGAIN_WITHIN_BARE_STARTS:g} bare",
                value=late,
                # A short run shares its machine with the other tests: one start may wait its turn.
                at_most=0 if full else SAMPLE_KILLS // 2,
            ),
        ),
        lines=tuple(lines),
    )


def _one_job(base: Path, kills: int, number: int, rng: random.Random, tally: Tally) -> None:
    room = Room(base)
    room.write_bench(period_s=PERIOD_S)
    board = TalkingBoard(room.device)
    job = Job(room=room, board=board)
    try:
        for kill in range(kills):
            _kill_once(job, rng, tally, sure=kill == 0 and number % 2 == 0)
            _look_at_what_is_left(job, tally)
        _end_well(job, tally)
        tally.acknowledged += job.stored
    finally:
        room.close()
        board.close()


def _start(job: Job) -> tuple[Child, float]:
    job.board.forget()
    clock = SystemClock()
    bare_s = clock.monotonic_s()
    subprocess.run([sys.executable, "-c", BARE_START], check=True)
    begun_s = clock.monotonic_s()
    child = job.room.watch()
    job.begun_s[child.pid] = begun_s, begun_s - bare_s
    return child, begun_s


def _kill_once(job: Job, rng: random.Random, tally: Tally, *, sure: bool) -> None:
    """Let it live for a while and kill it; `sure`: not before it has stored something."""
    child, begun_s = _start(job)
    clock = SystemClock()
    if not sure and rng.random() < STARTING_SHARE:
        was_up = _look_until(job, child, begun_s + rng.uniform(0.0, LONGEST_START_S))
    else:
        was_up = _look_until(job, child, begun_s + UP_WITHIN_S, until_up=True)
        _look_until(job, child, clock.monotonic_s() + rng.uniform(0.0, LONGEST_LIFE_S))
        while sure and not job.stored:
            _look_until(job, child, clock.monotonic_s() + PERIOD_S)
    moment = "watched" if was_up else "started"
    if rng.random() < ENDING_SHARE:
        moment = "ended" if was_up else moment
        child.signal(signal.SIGTERM)
        _look_until(job, child, clock.monotonic_s() + rng.uniform(0.0, LONGEST_ENDING_S))
    child.kill()
    tally.moments[moment] += 1


def _look_until(job: Job, child: Child, end_s: float, *, until_up: bool = False) -> bool:
    """Ask how much is stored until this moment; whether it ever answered."""
    clock, was_up = SystemClock(), False
    while (left_s := end_s - clock.monotonic_s()) > 0.0:
        snapshot = job.room.look()
        if snapshot is not None:
            was_up = True
            job.stored = max(job.stored, snapshot.stored_rows)
            job.folder = job.room.folder / child.out.splitlines()[0]
            if until_up:
                break
        clock.sleep(min(LOOK_EVERY_S, left_s))
    return was_up


def _look_at_what_is_left(job: Job, tally: Tally) -> None:
    """Read the files as the kill left them, in a copy: the daemon must mend its own."""
    if job.folder == NO_JOB:
        return
    with tempfile.TemporaryDirectory(prefix="bv-") as base:
        copy = Path(base) / "copy"
        shutil.copytree(job.folder, copy)
        try:
            changes = find_changes(copy)
            with open_record(copy) as record:
                held = list(record.stored_inputs())
        except RecordError as error:
            changes = (str(error),)
            held = job.held
    if changes:
        tally.unsound += 1
        tally.blame(changes[0])
    _hold_against(job, held, tally)
    job.held = held


def _hold_against(job: Job, held: Sequence[StoredInput], tally: Tally) -> None:
    numbers = [number_of(one.raw) for one in held if one.raw is not None]
    if len(numbers) < job.stored or list(held[: len(job.held)]) != job.held:
        tally.lost += max(job.stored - len(numbers), 1)
        tally.blame(f"{job.stored} said to be stored, {len(numbers)} there")
    back = sum(second <= first for first, second in zip(numbers, numbers[1:], strict=False))
    tally.doubled += back
    if back:
        tally.blame("a sample is there twice")
    wrong = [one for one in held if one.raw is not None and not _fits(one)]
    tally.unsound += len(wrong)
    if wrong:
        tally.blame(f"not what was said: {wrong[0]}")


def _fits(one: StoredInput) -> bool:
    values = getattr(one.given, "values", (None,))
    return one.raw is not None and math.isclose(
        values[0] or 0.0, bag_pa(number_of(one.raw)), abs_tol=0.06
    )


def _end_well(job: Job, tally: Tally) -> None:
    """Start it a last time, end it, and hold the whole record against its own replay."""
    child, _ = _start(job)
    before = job.stored
    clock = SystemClock()
    end_s = clock.monotonic_s() + UP_WITHIN_S
    while job.stored <= before and clock.monotonic_s() < end_s:
        _look_until(job, child, clock.monotonic_s() + PERIOD_S)
    if child.stop() != 0:
        tally.blame(child.err)
        tally.unsound += 1
    _look_at_what_is_left(job, tally)
    with open_record(job.folder) as record:
        differences = compare(record, replay_record(record, lambda _: None)).differences
        tally.unsound += bool(differences)
        for difference in differences:
            tally.blame(difference)
        _take_times(job, record, tally)


def _take_times(job: Job, record: Record, tally: Tally) -> None:
    """Find when each start had its first sample, by the computer's monotonic clock."""
    sessions = record.sessions()
    ends = [*(session.after_input for session in sessions[1:]), len(job.held)]
    for session, end in zip(sessions, ends, strict=True):
        rows = job.held[session.after_input : end]
        tally.gaps += sum(type(one.given).__name__ == "Unseen" for one in rows)
        arrived = [one.arrived_s for one in rows if one.arrived_s is not None]
        if arrived:
            begun_s, bare_s = job.begun_s[session.pid]
            tally.again_s.append(session.zero_mono_s + arrived[0] - begun_s)
            tally.bare_starts.append(tally.again_s[-1] / bare_s)
