"""A job that was cut off, and whose record has rotted since: watched on, in a folder of its own."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterator
from contextlib import closing
from pathlib import Path

import pytest

from firmware_host.outputs.record_reader import open_record
from firmware_host.outputs.record_schema import RECORD_NAME
from firmware_host.outputs.record_verify import find_changes
from tests.bench.talking_board import PERIOD_S, TalkingBoard
from tests.system.room import Room
from tests.waiting import until


@pytest.fixture
def board(room: Room) -> Iterator[TalkingBoard]:
    room.write_bench(period_s=PERIOD_S)
    made = TalkingBoard(room.device)
    yield made
    made.close()


def a_reading_is_another(record: Path) -> None:
    with closing(sqlite3.connect(record, isolation_level=None)) as made:
        third = made.execute("SELECT n FROM frame_0 ORDER BY n LIMIT 1 OFFSET 2").fetchone()
        made.execute("UPDATE frame_0 SET part1_mk = part1_mk + 1 WHERE n = ?", third)


def a_page_of_readings_is_noise(record: Path) -> None:
    with closing(sqlite3.connect(record, isolation_level=None)) as made:
        made.execute("PRAGMA wal_checkpoint(TRUNCATE)")
        made.execute("PRAGMA journal_mode=DELETE")
        root = made.execute("SELECT rootpage FROM sqlite_schema WHERE name = 'frame_0'").fetchone()
    with record.open("r+b") as file:
        file.seek(root[0] * 4096 - 256)  # rows fill a page from its end
        file.write(bytes(range(256)))


@pytest.mark.parametrize("spoil", [a_reading_is_another, a_page_of_readings_is_noise])
def test_a_rotten_record_keeps_no_bench_from_being_watched(
    room: Room, board: TalkingBoard, spoil: Callable[[Path], None]
) -> None:
    assert not board.said_at_s
    first = room.watch()
    old = room.job_folder(first)
    until(lambda: (now := room.look()) is not None and now.stored_rows > 5)
    first.kill()
    spoil(old / RECORD_NAME)
    again = room.watch()
    new = room.job_folder(again)
    assert new != old
    until(lambda: (now := room.look()) is not None and now.stored_rows > 5)
    assert again.out.splitlines() == [str(new)]
    assert "is damaged" in again.err
    assert "A new job begins" in again.err
    third_starts_on_the_new_one(room, again.kill, new)
    saved = room.command("salvage", old)
    assert saved.returncode == 1  # something is lost, and it says what
    assert "are sound" in saved.stderr
    assert "are lost (" in saved.stderr


def third_starts_on_the_new_one(room: Room, kill: Callable[[], None], new: Path) -> None:
    kill()
    third = room.watch()
    assert room.job_folder(third) == new
    assert third.stop() == 0, third.err
    assert find_changes(new) == ()
    with open_record(new) as record:
        assert record.sessions()[-1].clean
