from __future__ import annotations

import os
import re
import sqlite3
import subprocess
import sys
from contextlib import closing
from pathlib import Path
from random import Random

import pytest

from firmware_host.clock import ManualClock, boot_id
from firmware_host.errors import BusyError
from firmware_host.model.samples import Frame, Mark, Tick
from firmware_host.outputs.record import RecordWriter
from firmware_host.outputs.record_file import RecordFile
from firmware_host.outputs.record_reader import open_record
from firmware_host.outputs.record_resume import resume
from firmware_host.outputs.record_rows import checked, encode_other
from firmware_host.outputs.record_verify import find_changes
from tests.outputs.record_parts import (
    PATIENCE_S,
    VERSION,
    closing_event,
    frame_at,
    make_folder,
    open_writer,
)

KILLS = 12
ROOT = Path(__file__).parents[2]


def test_a_fresh_record_begins_at_nothing(tmp_path: Path) -> None:
    point = resume(make_folder(tmp_path))
    assert (point.inputs, point.frames, point.events) == (0, 0, 0)
    assert (point.last_time_s, point.session, point.wall, point.is_over) == (
        None,
        None,
        None,
        False,
    )


def test_a_cut_off_job_says_where_it_stood(tmp_path: Path) -> None:
    folder = make_folder(tmp_path)
    clock = ManualClock(50.0)
    writer = RecordWriter(folder, clock, version=VERSION, zero_mono_s=40.0)
    writer.put(frame_at(4))
    writer.put(Mark(1.0, "mixed", 9.0), [closing_event(9.0)])
    assert writer.flush(PATIENCE_S)
    point = resume(folder)
    assert (point.inputs, point.frames, point.events) == (2, 1, 1)
    assert (point.last_time_s, point.is_over) == (9.0, True)
    assert point.session is not None
    assert (point.session.clean, point.session.boot_id) == (False, boot_id())
    assert (point.session.zero_mono_s, point.session.pid) == (40.0, os.getpid())
    assert point.wall is not None
    assert (point.wall.mono_s, point.wall.wall) == (50.0, "2026-03-01T08:00:50.000+00:00")
    writer.close(PATIENCE_S)
    assert resume(folder).session is not None


def test_each_run_has_its_session_and_its_note_of_the_wall_clock(tmp_path: Path) -> None:
    folder = make_folder(tmp_path)
    for number in range(3):
        writer = open_writer(folder, ManualClock(100.0 * number))
        writer.put(Tick(float(number)))
        writer.close(PATIENCE_S)
    with open_record(folder) as record:
        sessions = [(run.n, run.after_input, run.clean) for run in record.sessions()]
        assert sessions == [(1, 0, True), (2, 1, True), (3, 2, True)]
        notes = [(note.session, note.mono_s) for note in record.wall_clock()]
        assert notes == [(1, 0.0), (2, 100.0), (3, 200.0)]
        assert list(record.inputs()) == [Tick(0.0), Tick(1.0), Tick(2.0)]


def test_rows_that_reached_the_disk_with_a_failed_commit_are_not_doubled(tmp_path: Path) -> None:
    path = make_folder(tmp_path) / "record.sqlite"
    file = RecordFile(path)
    first = ("input", checked("input", encode_other(1, Tick(0.0))))
    second = ("input", checked("input", encode_other(2, Tick(1.0)), int(str(first[1][-1]))))
    file.write([first])
    with pytest.raises(sqlite3.IntegrityError):
        file.write([first, second])
    file.write([first, second])
    file.close()
    with open_record(path) as record:
        assert list(record.inputs()) == [Tick(0.0), Tick(1.0)]


def child(task: str, folder: Path) -> subprocess.Popen[str]:
    """Start a writer in a process of its own, which says each number that it was told is stored."""
    command = [sys.executable, "-m", "tests.outputs.record_child", task, str(folder)]
    return subprocess.Popen(command, stdout=subprocess.PIPE, text=True, cwd=ROOT)


def test_a_killed_writer_loses_no_acknowledged_row(tmp_path: Path) -> None:
    folder = make_folder(tmp_path)
    random = Random(20261125)
    acknowledged = 0
    for _ in range(KILLS):
        # How far the writer is in its cycle when the line is read is up to the machine.
        with child("run", folder) as writer:
            assert writer.stdout is not None
            lines = [writer.stdout.readline() for _ in range(random.randint(1, 40))]
            writer.kill()
            acknowledged = max(map(int, [*lines, *writer.stdout.read().split("\n")[:-1]]))
        with open_record(folder) as record:
            held = list(record.inputs())
        assert acknowledged >= 1
        assert len(held) >= acknowledged
        assert held == [frame_at(number) for number in range(1, len(held) + 1)]
    with open_record(folder) as record:
        assert [run.clean for run in record.sessions()] == [False] * KILLS
    assert find_changes(folder) == ()


def test_a_living_owner_is_named_and_a_dead_one_is_replaced(tmp_path: Path) -> None:
    folder = make_folder(tmp_path)
    with child("run", folder) as owner:
        assert owner.stdout is not None
        owner.stdout.readline()
        with pytest.raises(BusyError, match=f"is being written by process {owner.pid}"):
            open_writer(folder)
        owner.kill()
        owner.wait()
        assert (folder / "record.lock").read_text() == f"{owner.pid}\n"
        open_writer(folder).close(PATIENCE_S)
    assert not (folder / "record.lock").exists()


def test_a_full_disk_is_said_and_nothing_is_lost_once_there_is_room(tmp_path: Path) -> None:
    folder = make_folder(tmp_path)
    with child("fill", folder) as writer:
        said, _ = writer.communicate(timeout=PATIENCE_S)
    assert writer.returncode == 0
    trouble, stored_while_full, put = said.splitlines()
    assert re.search(r"record\.sqlite cannot be written: disk I/O error", trouble)
    assert re.search(r"[1-9]\d* inputs wait in memory, room for 40000", trouble)
    assert 0 < int(stored_while_full) < int(put)
    with open_record(folder) as record:
        assert list(record.inputs()) == [frame_at(number) for number in range(1, int(put) + 1)]
        assert all(isinstance(given, Frame) for given in record.inputs())
    assert find_changes(folder) == ()


def test_a_disk_that_stays_full_ends_with_a_message_and_a_sound_record(tmp_path: Path) -> None:
    folder = make_folder(tmp_path)
    with child("stay-full", folder) as writer:
        said, _ = writer.communicate(timeout=PATIENCE_S)
    assert writer.returncode == 1
    stored, message = said.splitlines()
    assert re.search(r"[1-9]\d* inputs and the clean end could not be stored", message)
    with open_record(folder) as record:
        held = list(record.inputs())
    assert held[: int(stored)] == [frame_at(number) for number in range(1, int(stored) + 1)]
    with closing(sqlite3.connect(folder / "record.sqlite")) as plain:
        assert plain.execute("PRAGMA integrity_check").fetchone() == ("ok",)
