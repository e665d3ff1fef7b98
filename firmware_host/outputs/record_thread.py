"""The thread behind the record: takes rows from its queue and commits them.

One commit a second of the clock, and at once where somebody waits. `stored` speaks only of rows
whose synced commit has returned. An error keeps the batch in memory, is said in `trouble`, and
is tried again; nothing ends this thread but the end of the record.
"""

from __future__ import annotations

import dataclasses
import math
import queue
import threading
from collections import deque
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from firmware_host.clock import LEAST_REAL_TIMEOUT_S, Clock
from firmware_host.model.snapshot import RecordHead
from firmware_host.outputs.disk_room import DiskRoom
from firmware_host.outputs.record_file import RecordFile
from firmware_host.outputs.record_resume import ResumePoint
from firmware_host.outputs.record_rows import TableRow, checked
from firmware_host.outputs.record_schema import Session

COMMIT_EVERY_S = 1.0
LEAST_COMMIT_REAL_S = 0.05
"""A demo's clock may run fast; the disk is not synced more often than this in real time."""
MOST_IN_BATCH = 2_000
"""Rows of a long wait are caught up in steps, so that each step has its confirmation."""
SLOW_AFTER_S = 10.0
"""A commit that takes longer is said aloud."""
SLOW_COMMIT_S = 2.0
SLOW_COMMITS = 3
"""So many commits in a row, each longer than that, are said too: one stall is a card's habit."""
WALL_STEP_S = 2.0
"""A wall clock that was set by more than this is noted."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Stored:
    """What is certainly on the disk."""

    frames: int
    inputs: int
    """Number of the last input."""
    at_s: float | None
    """Monotonic reading when that commit returned; None before the first of this run."""
    head: RecordHead | None = None
    """The newest block of the chain of hashes that is there."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """What one `put` adds."""

    rows: tuple[TableRow, ...]
    put_s: float
    inputs: int
    """Number of the last input once this is stored."""
    frames: int
    urgent: bool
    on_stored: Callable[[], None] | None


class RecordThread:
    """Started by construction; `enqueue` and `stop` belong to one other thread."""

    def __init__(self, path: Path, clock: Clock, point: ResumePoint, session: Session) -> None:
        self._path = path
        self._clock = clock
        self._file = RecordFile(path)
        self._session = session
        self._stored = Stored(
            frames=point.frames,
            inputs=point.inputs,
            at_s=None,
            head=None
            if point.head is None
            else RecordHead(inputs=point.head.inputs, sha256=point.head.sha256),
        )
        self._events = point.events
        self._walls = 0 if point.wall is None else point.wall.n
        self._wall_offset_s = -math.inf
        self._since_s = 0.0
        """The oldest row that is not on the disk has waited no longer than since then."""
        self._fault = ""
        self._slow_commits = 0
        self._room = DiskRoom(path, point.meta.groups)
        self._ended = False
        self._batch: list[Entry] = []
        self._answers: deque[Callable[[], None]] = deque()
        self._queue: queue.SimpleQueue[Entry] = queue.SimpleQueue()
        self._hurry = threading.Event()
        """Somebody waits for what was handed over last."""
        self._closing = threading.Event()
        self._give_up = threading.Event()
        self._thread = threading.Thread(target=self._run, name="record", daemon=True)
        self._thread.start()

    @property
    def stored(self) -> Stored:
        """What is certainly on the disk."""
        return self._stored

    @property
    def is_idle(self) -> bool:
        """Whether all that was handed over is on the disk."""
        return self._queue.empty() and not self._batch

    @property
    def trouble(self) -> str:
        """What keeps the rows from the disk, in words; empty while they get there."""
        return self._fault or self._room.trouble or self._slowness()

    @property
    def room_left_s(self) -> float | None:
        """Time for which the disk's room lasts; None while nobody knows."""
        return self._room.left_s

    @property
    def is_alive(self) -> bool:
        """Whether it may still write."""
        return self._thread.is_alive()

    def enqueue(self, entry: Entry) -> None:
        """Hand rows over; never waits and never refuses."""
        if self.is_idle:
            self._since_s = self._awake_s()
        self._queue.put(entry)
        if entry.urgent:
            self._hurry.set()

    def stop(self, timeout_s: float) -> bool:
        """Store the rest and end the session; False where the disk did not take it in time.

        Nothing may be handed over afterwards. The time is real time.
        """
        self._closing.set()
        self._hurry.set()
        self._thread.join(timeout_s)
        self._give_up.set()
        if self._thread.is_alive():
            self._thread.join(LEAST_REAL_TIMEOUT_S)
        return self._ended

    def _slowness(self) -> str:
        waits_s = self._awake_s() - self._since_s
        limit_s = max(SLOW_AFTER_S, LEAST_REAL_TIMEOUT_S * self._clock.rate)
        if self._slow_commits >= SLOW_COMMITS:
            return (
                f"{self._path}: the disk took more than {self._slow_commit_s():.0f} s for each of "
                "its last commits. Another card or disk may be due."
            )
        if self.is_idle or waits_s <= limit_s:
            return ""
        return (
            f"{self._path}: the disk has confirmed nothing for {waits_s:.0f} s "
            f"(limit {limit_s:.0f} s). Another card or disk may be due."
        )

    def _awake_s(self) -> float:
        """Time in which a disk could have done something: not while the computer slept."""
        return self._clock.monotonic_s() - self._clock.asleep_s()

    def _slow_commit_s(self) -> float:
        return max(SLOW_COMMIT_S, LEAST_REAL_TIMEOUT_S * self._clock.rate)

    def _run(self) -> None:
        while not self._ended:
            try:
                self._turn()
            except Exception as error:  # noqa: BLE001 - top of the thread; it becomes `trouble`
                if _is_full(error) and self._room.ballast.give_up():
                    continue
                self._fault = (
                    f"{self._path} cannot be written: {error}. Nothing is lost while there is "
                    "room in memory: free space, or check the disk and its cable."
                )
                if self._give_up.wait(self._pause_s()):
                    break
        self._file.close()
        if self._ended:
            self._room.ballast.take_away()

    def _turn(self) -> None:
        if self.is_idle and not self._closing.is_set():
            self._fault = ""
        self._room.look(self._clock.monotonic_s())
        self._answer()
        self._gather()
        if self._batch:
            self._commit()
        self._answer()
        if self._closing.is_set() and self.is_idle:
            self._end()

    def _pause_s(self) -> float:
        return max(COMMIT_EVERY_S / self._clock.rate, LEAST_COMMIT_REAL_S)

    def _gather(self) -> None:
        """Take what waits, once the oldest of it has waited its second or somebody is in a hurry.

        One wait for a whole batch: waking up for every frame costs more than the frame.
        """
        if not self._batch:
            try:
                self._batch.append(self._queue.get(timeout=self._pause_s()))
            except queue.Empty:
                return
        if not any(entry.urgent for entry in self._batch) and not self._closing.is_set():
            self._hurry.wait(self._left_s())
        self._hurry.clear()
        while len(self._batch) < MOST_IN_BATCH:
            try:
                self._batch.append(self._queue.get_nowait())
            except queue.Empty:
                return

    def _left_s(self) -> float:
        """Real time until the oldest row of the batch has waited its second."""
        waited_s = self._clock.monotonic_s() - self._batch[0].put_s
        return max(self._pause_s() - waited_s / self._clock.rate, 0.0)

    def _commit(self) -> None:
        batch, mono_s, wall = self._batch, self._clock.monotonic_s(), self._clock.wall()
        awake_s = self._awake_s()
        rows = [row for entry in batch for row in entry.rows]
        offset_s = wall.timestamp() - mono_s
        is_set = abs(offset_s - self._wall_offset_s) > WALL_STEP_S * max(1.0, self._clock.rate)
        if is_set:
            noted = (self._walls + 1, self._session.n, mono_s, rfc3339(wall))
            rows.append(("wall_clock", checked("wall_clock", noted)))
        self._file.write(rows)
        is_slow = self._awake_s() - awake_s > self._slow_commit_s()
        self._slow_commits = self._slow_commits + 1 if is_slow else 0
        if is_set:
            self._walls, self._wall_offset_s = self._walls + 1, offset_s
        self._say_stored(batch)

    def _say_stored(self, batch: list[Entry]) -> None:
        self._since_s = self._awake_s()
        self._stored = Stored(
            frames=self._stored.frames + sum(entry.frames for entry in batch),
            inputs=batch[-1].inputs,
            at_s=self._clock.monotonic_s(),
            head=_newest_head(batch) or self._stored.head,
        )
        self._events += sum(table == "event" for entry in batch for table, _ in entry.rows)
        self._batch, self._fault = [], ""
        self._answers.extend(entry.on_stored for entry in batch if entry.on_stored is not None)

    def _answer(self) -> None:
        while self._answers:
            self._answers.popleft()()

    def _end(self) -> None:
        end = dataclasses.replace(
            self._session,
            ended=rfc3339(self._clock.wall()),
            inputs=self._stored.inputs,
            events=self._events,
        )
        self._file.end(end)
        self._ended = True


def _newest_head(batch: Sequence[Entry]) -> RecordHead | None:
    heads = [cells for entry in batch for table, cells in entry.rows if table == "head"]
    if not heads:
        return None
    _, inputs, _, sha256, _ = heads[-1]
    return RecordHead(inputs=int(str(inputs)), sha256=str(sha256))


def _is_full(error: Exception) -> bool:
    return getattr(error, "sqlite_errorname", "") == "SQLITE_FULL"


def rfc3339(wall: datetime) -> str:
    """Spell a moment for people, with its offset."""
    return wall.isoformat(timespec="milliseconds")
