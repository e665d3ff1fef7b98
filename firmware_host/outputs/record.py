"""Writing the record: whatever the core sees and says, on the disk within a second.

The caller never waits for the disk: rows go through a bounded queue to one thread, which commits
once a second of the clock, and at once where somebody waits. `stored` speaks only of rows whose
synced commit has returned. When the disk does not follow, rows wait in memory and `trouble` says
so; when there is no room left, frames are counted and let go, marks and events are still kept.
"""

from __future__ import annotations

import os
import threading
from collections.abc import Callable, Sequence
from pathlib import Path

from firmware_host.clock import Clock, boot_id
from firmware_host.errors import RecordError
from firmware_host.model.events import Event
from firmware_host.model.samples import Frame, Input, Tick
from firmware_host.outputs.folder_lock import FolderLock
from firmware_host.outputs.record_reader import open_record
from firmware_host.outputs.record_resume import ResumePoint, chain_of, resume_point
from firmware_host.outputs.record_rows import TableRow, checked
from firmware_host.outputs.record_schema import RECORD_NAME, Session
from firmware_host.outputs.record_sequence import RowSequence
from firmware_host.outputs.record_thread import Entry, RecordThread, Stored, rfc3339
from firmware_host.outputs.seal import unseal

MOST_WAITING = 40_000
"""Inputs kept in memory: more than an hour at ten frames a second, some 25 MB."""


class RecordWriter:
    """The one writer of a job folder's record; `put` and `close` belong to one thread."""

    def __init__(
        self,
        folder: Path,
        clock: Clock,
        *,
        version: str,
        zero_mono_s: float,
        events_stored: Callable[[], None] | None = None,
    ) -> None:
        """Take the folder and go on where its record stands.

        `zero_mono_s` is the monotonic reading, in this boot, of the job's zero. `events_stored` is
        called from the writer's thread whenever new events are on the disk. Raises BusyError
        naming the owner where another process writes, RecordError where the record is not sound.
        """
        self._clock = clock
        self._events_stored = events_stored
        self._path = folder / RECORD_NAME
        self._lock = FolderLock(folder)
        try:
            unseal(folder)
            with open_record(folder, frames_too=False) as record:
                point, heads = resume_point(record), chain_of(record)
            session = _session(point, clock, version, zero_mono_s)
            self._thread = RecordThread(self._path, clock, point, session)
        except BaseException:
            self._lock.release()
            raise
        self._sequence = RowSequence(
            point.meta.groups,
            inputs=point.inputs,
            input_crc=point.input_crc,
            events=point.events,
            event_crc=point.event_crc,
            heads=heads,
        )
        self._enqueue((("session", checked("session", session.cells())),))

    @property
    def stored(self) -> Stored:
        """What is certainly on the disk; safe from any thread."""
        return self._thread.stored

    @property
    def waiting(self) -> int:
        """Inputs that are not on the disk yet; safe from any thread."""
        return self._sequence.inputs - self._thread.stored.inputs

    @property
    def room_left_s(self) -> float | None:
        """Time for which the disk's room lasts; None while nobody knows. Safe from any thread."""
        return self._thread.room_left_s

    @property
    def trouble(self) -> str:
        """Say in words what is wrong with the recording; empty while all is well."""
        parts = [self._thread.trouble]
        if parts[0]:
            parts.append(f"{self.waiting} inputs wait in memory, room for {MOST_WAITING}.")
        if self._sequence.lost:
            parts.append(f"{self._sequence.lost} readings found no room and are lost.")
        return " ".join(part for part in parts if part)

    def put(
        self,
        given: Input,
        events: Sequence[Event] = (),
        *,
        raw: str | None = None,
        arrived_s: float | None = None,
        on_stored: Callable[[], None] | None = None,
    ) -> int:
        """Hand over one input of the core and what the core said to it; never waits.

        `on_stored` is called from the writer's thread once all of it is on the disk. Returns the
        number of the input. Raises ValueError, and keeps nothing, for an input that could not be
        read back equal.
        """
        urgent = bool(events) or on_stored is not None or not isinstance(given, Frame | Tick)
        if not urgent and self.waiting >= MOST_WAITING:
            self._sequence.let_go()
            return self._sequence.inputs
        if events and on_stored is None:
            on_stored = self._events_stored
        rows = self._sequence.add(given, events, raw, arrived_s)
        self._enqueue(
            rows, frames=int(isinstance(given, Frame)), urgent=urgent, on_stored=on_stored
        )
        return self._sequence.inputs

    def flush(self, timeout_s: float) -> bool:
        """Wait, in real time, until all that was put is on the disk; False if it is not."""
        done = threading.Event()
        self._enqueue(self._sequence.lost_rows(), urgent=True, on_stored=done.set)
        return done.wait(timeout_s)

    def close(self, timeout_s: float = 10.0) -> None:
        """Store the rest, note the clean end, leave one file, give the folder back.

        Raises RecordError where the disk did not take everything in `timeout_s` of real time.
        """
        self._enqueue((*self._sequence.lost_rows(), *self._sequence.head_rows()), urgent=True)
        ended = self._thread.stop(timeout_s)
        if not self._thread.is_alive:
            self._lock.release()  # else it may still write; the lock then ends with the process
        if not ended:
            raise RecordError(
                f"{self._path}: {self.waiting} inputs and the clean end could not be stored. "
                f"{self._thread.trouble}"
            )

    def _enqueue(
        self,
        rows: tuple[TableRow, ...],
        *,
        frames: int = 0,
        urgent: bool = False,
        on_stored: Callable[[], None] | None = None,
    ) -> None:
        entry = Entry(
            rows=rows,
            put_s=self._clock.monotonic_s(),
            inputs=self._sequence.inputs,
            frames=frames,
            urgent=urgent,
            on_stored=on_stored,
        )
        self._thread.enqueue(entry)


def _session(point: ResumePoint, clock: Clock, version: str, zero_mono_s: float) -> Session:
    return Session(
        n=1 if point.session is None else point.session.n + 1,
        boot_id=boot_id(),
        version=version,
        pid=os.getpid(),
        zero_mono_s=float(zero_mono_s),
        after_input=point.inputs,
        started=rfc3339(clock.wall()),
    )
