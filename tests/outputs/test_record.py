from __future__ import annotations

import sqlite3
import threading
from contextlib import closing
from dataclasses import replace
from datetime import datetime, timedelta
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from firmware_host.clock import ManualClock, ScaledClock
from firmware_host.errors import BusyError, RecordError
from firmware_host.model.events import Event
from firmware_host.model.samples import Frame, Input, Mark, Tick
from firmware_host.outputs import record as record_module
from firmware_host.outputs.record_reader import open_record
from firmware_host.outputs.record_thread import Stored
from tests.outputs.record_parts import (
    PATIENCE_S,
    RAW,
    closing_event,
    events,
    frame_at,
    inputs,
    make_folder,
    open_writer,
)


class SetClock(ManualClock):
    """A board without a battery, whose wall clock is put right while a job runs."""

    moved_s = 0.0

    def wall(self) -> datetime:
        return super().wall() + timedelta(seconds=self.moved_s)


MARK = Mark(12.0, "pump_on", 14.5, "hose was loose")


@settings(max_examples=25, deadline=None)
@given(st.lists(st.tuples(inputs, st.lists(events, max_size=3)), max_size=12))
def test_a_record_holds_what_was_put_in_that_order(
    steps: list[tuple[Input, list[Event]]],
) -> None:
    with TemporaryDirectory() as base:
        folder = make_folder(Path(base))
        writer = open_writer(folder)
        for given_input, said in steps:
            writer.put(given_input, said)
        writer.close(PATIENCE_S)
        with open_record(folder) as record:
            assert list(record.inputs()) == [given_input for given_input, _ in steps]
            assert list(record.events()) == [event for _, said in steps for event in said]
            assert [stored.after_input for stored in record.stored_events()] == [
                number for number, (_, said) in enumerate(steps, 1) for _ in said
            ]
            assert record.input_count == len(steps)


def test_raw_words_and_arrival_stay_beside_the_values(tmp_path: Path) -> None:
    folder = make_folder(tmp_path)
    writer = open_writer(folder)
    writer.put(frame_at(3), raw=RAW, arrived_s=1.512)
    writer.put(frame_at(4))
    writer.close(PATIENCE_S)
    with open_record(folder) as record:
        kept = [(stored.raw, stored.arrived_s) for stored in record.stored_inputs()]
    assert kept == [(RAW, 1.512), (None, None)]


def test_a_mark_is_answered_only_when_another_reader_finds_it(tmp_path: Path) -> None:
    folder = make_folder(tmp_path)
    writer = open_writer(folder)
    found: list[list[Input]] = []
    done = threading.Event()

    def look() -> None:
        with open_record(folder) as record:
            found.append(list(record.inputs()))
        done.set()

    writer.put(frame_at(0))
    writer.put(MARK, on_stored=look)
    assert done.wait(PATIENCE_S)
    writer.close(PATIENCE_S)
    assert found == [[frame_at(0), MARK]]


def test_an_event_does_not_wait_for_the_second(tmp_path: Path) -> None:
    folder = make_folder(tmp_path)
    writer = open_writer(folder)
    said = closing_event(0.0)
    done = threading.Event()
    writer.put(frame_at(0), [said], on_stored=done.set)
    assert done.wait(PATIENCE_S)
    with open_record(folder) as record:
        assert list(record.events()) == [said]
    writer.close(PATIENCE_S)


def test_stored_counts_frames_and_carries_the_clock(tmp_path: Path) -> None:
    folder = make_folder(tmp_path)
    clock = ManualClock(100.0)
    writer = open_writer(folder, clock)
    assert writer.stored == Stored(frames=0, inputs=0, at_s=writer.stored.at_s)
    for number in range(3):
        writer.put(frame_at(number))
    writer.put(Tick(2.0))
    assert writer.flush(PATIENCE_S)
    assert writer.stored == Stored(frames=3, inputs=4, at_s=100.0)
    writer.close(PATIENCE_S)
    head = writer.stored.head
    assert head is not None
    assert head.inputs == 4
    resumed = open_writer(folder, clock)
    assert resumed.stored.frames == 3
    resumed.put(frame_at(3))
    assert resumed.flush(PATIENCE_S)
    assert resumed.stored == Stored(frames=4, inputs=5, at_s=100.0, head=head)
    resumed.close(PATIENCE_S)


def test_rows_are_stored_unasked_on_a_fast_clock_too(tmp_path: Path) -> None:
    folder = make_folder(tmp_path)
    writer = open_writer(folder, ScaledClock(1000.0))
    done = threading.Event()
    writer.put(frame_at(0))
    writer.put(frame_at(1), on_stored=done.set)
    assert done.wait(PATIENCE_S)
    writer.close(PATIENCE_S)
    with open_record(folder) as record:
        assert record.frame_count == 2


def test_a_clean_end_leaves_the_record_as_one_file(tmp_path: Path) -> None:
    folder = make_folder(tmp_path)
    writer = open_writer(folder)
    writer.put(MARK, [closing_event(14.5)])
    writer.close(PATIENCE_S)
    assert sorted(path.name for path in folder.iterdir()) == ["job.toml", "record.sqlite"]
    with open_record(folder) as record:
        (session,) = record.sessions()
        assert (session.clean, session.inputs, session.events) == (True, 1, 1)


def test_a_second_writer_is_refused_naming_the_first(tmp_path: Path) -> None:
    folder = make_folder(tmp_path)
    writer = open_writer(folder)
    owner = (folder / "record.lock").read_text().strip()
    with pytest.raises(BusyError, match=f"is being written by process {owner}"):
        open_writer(folder)
    writer.put(frame_at(0))
    writer.close(PATIENCE_S)
    open_writer(folder).close(PATIENCE_S)


def test_what_cannot_be_recorded_is_refused_and_leaves_no_trace(tmp_path: Path) -> None:
    folder = make_folder(tmp_path)
    writer = open_writer(folder)
    assert writer.put(frame_at(0)) == 1
    with pytest.raises(ValueError, match=r"time_s = 0\.00025"):
        writer.put(replace(frame_at(1), time_s=0.00025))
    with pytest.raises(ValueError, match="frame of group 2; there are 2 groups"):
        writer.put(Frame(0.0, 2, (), ()))
    with pytest.raises(ValueError, match=r"PhaseEntered\.time_s = nan"):
        writer.put(frame_at(1), [closing_event(1.0), closing_event(float("nan"))])
    assert writer.put(frame_at(2)) == 2
    writer.close(PATIENCE_S)
    with open_record(folder) as record:
        assert list(record.inputs()) == [frame_at(0), frame_at(2)]


def test_a_locked_file_is_said_and_costs_nothing(tmp_path: Path) -> None:
    folder = make_folder(tmp_path)
    writer = open_writer(folder)
    assert writer.flush(PATIENCE_S)
    with closing(sqlite3.connect(folder / "record.sqlite", isolation_level=None)) as other:
        other.execute("BEGIN EXCLUSIVE")
        writer.put(MARK)
        while "cannot be written: database is locked" not in writer.trouble:
            assert not writer.flush(0.1)
        assert writer.stored.inputs == 0
        other.execute("ROLLBACK")
    assert writer.flush(PATIENCE_S)
    assert (writer.trouble, writer.stored.inputs) == ("", 1)
    writer.close(PATIENCE_S)


def test_without_room_frames_are_counted_and_marks_are_kept(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(record_module, "MOST_WAITING", 5)
    folder = make_folder(tmp_path)
    writer = open_writer(folder)
    assert writer.flush(PATIENCE_S)
    with closing(sqlite3.connect(folder / "record.sqlite", isolation_level=None)) as other:
        other.execute("BEGIN EXCLUSIVE")
        for number in range(8):
            writer.put(frame_at(number))
        writer.put(MARK)
        assert writer.trouble.endswith("3 readings found no room and are lost.")
        other.execute("ROLLBACK")
    writer.put(demoulded := Mark(20.0, "demoulded", 20.0))
    writer.close(PATIENCE_S)
    with open_record(folder) as record:
        kept = [*map(frame_at, range(5)), MARK, demoulded]
        assert (list(record.inputs()), record.lost_inputs) == (kept, 3)


def test_a_commit_that_takes_long_is_said(tmp_path: Path) -> None:
    folder = make_folder(tmp_path)
    clock = ManualClock()
    writer = open_writer(folder, clock)
    assert writer.flush(PATIENCE_S)
    entered, leave = threading.Event(), threading.Event()

    def hold() -> None:
        entered.set()
        leave.wait(PATIENCE_S)

    # A thread that is held up anywhere looks the same from outside as one that waits for a disk.
    writer.put(MARK, on_stored=hold)
    assert entered.wait(PATIENCE_S)
    writer.put(MARK)
    clock.turn(10.0)
    assert writer.trouble == ""
    clock.turn(0.5)
    assert "the disk has confirmed nothing for 10 s (limit 10 s)" in writer.trouble
    leave.set()
    assert writer.flush(PATIENCE_S)
    assert writer.trouble == ""
    writer.close(PATIENCE_S)


def test_an_answer_that_fails_does_not_end_the_recording(tmp_path: Path) -> None:
    folder = make_folder(tmp_path)
    writer = open_writer(folder, ScaledClock(20.0))

    def fail() -> None:
        raise RuntimeError("the panel is gone")

    writer.put(MARK, on_stored=fail)
    writer.put(frame_at(0))
    assert writer.flush(PATIENCE_S)
    assert writer.trouble == ""
    writer.close(PATIENCE_S)
    with open_record(folder) as record:
        assert list(record.inputs()) == [MARK, frame_at(0)]


def test_a_wall_clock_that_is_set_leaves_a_note(tmp_path: Path) -> None:
    clock = SetClock(5.0)
    folder = make_folder(tmp_path, clock)
    writer = open_writer(folder, clock)
    assert writer.flush(PATIENCE_S)
    clock.moved_s = 1.9
    writer.put(MARK)
    assert writer.flush(PATIENCE_S)
    clock.moved_s = 3600.0
    clock.turn(2.0)
    writer.put(MARK)
    writer.close(PATIENCE_S)
    with open_record(folder) as record:
        notes = [(note.session, note.mono_s, note.wall) for note in record.wall_clock()]
    assert notes == [
        (1, 5.0, "2026-03-01T08:00:05.000+00:00"),
        (1, 7.0, "2026-03-01T09:00:07.000+00:00"),
    ]


def test_a_record_that_is_moved_away_is_not_called_stored(tmp_path: Path) -> None:
    folder = make_folder(tmp_path)
    writer = open_writer(folder)
    assert writer.flush(PATIENCE_S)
    (folder / "record.sqlite").rename(folder / "elsewhere.sqlite")
    writer.put(MARK)
    assert not writer.flush(0.2)
    with pytest.raises(RecordError, match="1 inputs and the clean end could not be stored"):
        writer.close(0.2)
    assert writer.stored.inputs == 0
