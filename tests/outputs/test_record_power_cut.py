"""The disk that loses its power: that it can find fault, and what it found once."""

from __future__ import annotations

import random
import shutil
import sqlite3
from pathlib import Path

import pytest

from firmware_host.outputs.record_file import finish_cut_write
from firmware_host.outputs.record_reader import open_record
from tests.bench.record_power_cut import cut_all
from tests.outputs.disk_log import Disk, Fate, Op, record_disk
from tests.outputs.record_parts import PATIENCE_S, frame_at, make_folder, open_writer

needs_gcc = pytest.mark.skipif(shutil.which("gcc") is None, reason="the shim is built with gcc")
RNG_SEED = 3


def left(tmp_path: Path, ops: list[Op], fate: Fate) -> dict[str, bytes]:
    disk, target = Disk(), tmp_path / fate
    target.mkdir()
    for op in ops:
        disk.take(op)
    disk.cut(target, fate, random.Random(RNG_SEED))
    return {
        str(path.relative_to(target)): path.read_bytes()
        for path in target.rglob("*")
        if path.is_file()
    }


MADE = [Op("c", "a", 0, b""), Op("w", "a", 0, b"old"), Op("s", "a", 0, b""), Op("s", "", 0, b"")]


def test_what_was_synced_is_there_and_what_was_not_is_not(tmp_path: Path) -> None:
    ops = [*MADE, Op("w", "a", 3, b"new")]
    assert left(tmp_path, ops, Fate.NONE) == {"a": b"old"}
    assert left(tmp_path, ops, Fate.ALL) == {"a": b"oldnew"}


def test_a_synced_file_without_a_synced_name_is_lost(tmp_path: Path) -> None:
    assert left(tmp_path, MADE[:-1], Fate.NONE) == {}
    assert left(tmp_path, MADE[:-1], Fate.ALL) == {"a": b"old"}


def test_a_name_taken_away_comes_back_until_its_folder_is_synced(tmp_path: Path) -> None:
    gone = [*MADE, Op("u", "a", 0, b"")]
    assert left(tmp_path, gone, Fate.NONE) == {"a": b"old"}
    assert left(tmp_path, [*gone, Op("s", "", 0, b"")], Fate.TORN) == {}


def test_a_name_that_moved_keeps_its_bytes(tmp_path: Path) -> None:
    moved = [*MADE, Op("r", "a", 0, b"b"), Op("s", "", 0, b"")]
    assert left(tmp_path, moved, Fate.NONE) == {"b": b"old"}


def test_a_write_tears_between_sectors_and_nowhere_else(tmp_path: Path) -> None:
    ops = [*MADE, Op("w", "a", 0, b"x" * 2000)]
    found = left(tmp_path, ops, Fate.TORN)["a"]
    pieces = {found[at : at + 512] for at in range(0, len(found), 512)}
    whole = {b"x" * 512, b"x" * (2000 - 3 * 512)}
    empty = {bytes(512), b"old" + bytes(509), b"old"}
    assert pieces <= whole | empty
    assert pieces & whole
    assert pieces & empty


@needs_gcc
def test_a_writer_that_syncs_nothing_is_found_out() -> None:
    tally, _ = cut_all("careless", 60, RNG_SEED)
    assert tally.corrupt.total() + tally.lost.total() > 20


@needs_gcc
def test_the_shim_notes_syncs_of_files_and_of_folders(tmp_path: Path) -> None:
    ops = record_disk(tmp_path, "tests.outputs.disk_child", "sound")
    synced = {op.path for op in ops if op.letter == "s"}
    folder = "jobs/2026-03-01-kayak-hatch-cover-1"
    names = ("record.sqlite", "record.sqlite-wal", "record.sqlite-journal", "job.toml")
    assert synced >= {"", "jobs", folder, *(f"{folder}/{name}" for name in names)}


def test_every_folder_that_is_made_has_its_name_synced(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    synced: list[Path] = []
    monkeypatch.setattr("firmware_host.outputs.job_folder.sync_folder", synced.append)
    folder = make_folder(tmp_path / "new" / "jobs")
    base = tmp_path / "new" / "jobs"
    assert synced[:2] == [tmp_path, tmp_path / "new"]
    assert synced[2:] == [folder, base]


def test_a_record_whose_last_write_was_cut_is_read_without_it(tmp_path: Path) -> None:
    folder = make_folder(tmp_path)
    writer = open_writer(folder)
    writer.put(frame_at(1))
    writer.close(PATIENCE_S)
    cut_in_a_write(folder / "record.sqlite")
    with open_record(folder) as record:
        assert list(record.inputs()) == [frame_at(1)]
    assert not (folder / "record.sqlite-journal").exists()


def test_without_a_journal_nothing_is_touched(tmp_path: Path) -> None:
    folder = make_folder(tmp_path)
    before = (folder / "record.sqlite").stat()
    finish_cut_write(folder / "record.sqlite")
    assert (folder / "record.sqlite").stat() == before


def cut_in_a_write(path: Path) -> None:
    """Leave the file and its journal as they are after a cut between write and commit."""
    connection = sqlite3.connect(path, isolation_level=None)
    connection.execute("PRAGMA cache_size=1")
    connection.execute("PRAGMA cache_spill=1")
    connection.execute("BEGIN IMMEDIATE")
    connection.executemany(
        "INSERT INTO event VALUES(?, 1, 'x', ?, 0)", [(n, "x" * 3000) for n in range(1, 60)]
    )
    held = {one.name: one.read_bytes() for one in path.parent.glob("record.sqlite*")}
    connection.rollback()
    connection.close()
    for name, content in held.items():
        path.with_name(name).write_bytes(content)
    assert (path.parent / "record.sqlite-journal").stat().st_size > 0
