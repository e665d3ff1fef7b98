"""The reserve for the last words, and the forecast of the disk's room."""

from __future__ import annotations

from pathlib import Path

from firmware_host.outputs.disk_room import (
    BALLAST_BYTES,
    BALLAST_NAME,
    LOOK_EVERY_S,
    DiskRoom,
    time_left_s,
)
from tests.outputs.record_parts import GROUPS, PATIENCE_S, make_folder, open_writer

HOUR_S = 3600.0


def test_the_reserve_takes_real_blocks_and_is_gone_after_a_clean_end(tmp_path: Path) -> None:
    folder = make_folder(tmp_path)
    writer = open_writer(folder)
    assert writer.flush(PATIENCE_S)
    held = (folder / BALLAST_NAME).stat()
    assert held.st_blocks * 512 >= BALLAST_BYTES
    writer.close(PATIENCE_S)
    assert not (folder / BALLAST_NAME).exists()


def test_a_reserve_that_was_given_up_is_said_and_laid_down_again_with_room(tmp_path: Path) -> None:
    record = make_folder(tmp_path) / "record.sqlite"
    room = DiskRoom(record, GROUPS)
    room.look(0.0)
    assert room.trouble == ""
    assert room.ballast.give_up()
    assert "the disk is full" in room.trouble
    assert not room.ballast.give_up(), "there is only one"
    room.look(4.9)
    assert room.trouble != ""
    room.look(5.0)
    assert room.trouble == ""
    assert (record.parent / BALLAST_NAME).exists()


def test_until_ten_minutes_were_seen_the_plan_alone_counts() -> None:
    falling = [(0.0, 100_000, 0), (599.0, 50_000, 0)]
    assert time_left_s(falling, 1.0) == 50_000.0
    assert time_left_s([*falling, (600.0, 50_000, 0)], 1.0) == 600.0


def test_the_faster_of_own_and_foreign_writing_counts() -> None:
    assert time_left_s([(0.0, 10_000, 0), (1000.0, 9_000, 2_000)], 0.5) == 4500.0
    assert time_left_s([(0.0, 10_000, 0), (1000.0, 7_000, 2_000)], 0.5) == 7000.0 / 3.0
    assert time_left_s([(0.0, 10_000, 0), (1000.0, 12_000, 0)], 0.0) is None


def test_the_disk_is_looked_at_once_a_minute(tmp_path: Path) -> None:
    record = make_folder(tmp_path) / "record.sqlite"
    room = DiskRoom(record, GROUPS)
    room.look(0.0)
    first = room.left_s
    assert first is not None
    assert first > HOUR_S
    record.unlink()
    room.look(LOOK_EVERY_S - 0.001)
    assert room.left_s == first
    room.look(LOOK_EVERY_S)
    assert room.left_s is None
