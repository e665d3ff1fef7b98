"""What is sound in a damaged record is saved, what is not is named, and the damaged one stays."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from firmware_host.cli import main
from firmware_host.errors import RecordError
from firmware_host.model.samples import Mark, Unseen
from firmware_host.outputs.record_reader import open_record
from firmware_host.outputs.record_schema import RECORD_NAME, Source
from firmware_host.outputs.record_verify import find_changes
from firmware_host.outputs.salvage import WHY, salvage
from firmware_host.outputs.salvage_pages import PAGE_BYTES
from tests.outputs.record_parts import (
    PATIENCE_S,
    RAW,
    closing_event,
    frame_at,
    make_folder,
    open_writer,
)

FRAMES = 400
MARK = Mark(0.6, "mixed", 0.6)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    made = make_folder(tmp_path)
    writer = open_writer(made)
    writer.put(MARK, [closing_event(0.6)])
    for number in range(2, FRAMES + 1):
        writer.put(frame_at(number), raw=RAW, arrived_s=number / 2)
    writer.close(PATIENCE_S)
    return made


def page_of(record: Path, number: int) -> int:
    """Find the page of a frame by the bytes of its bag reading."""
    (steps,) = [round((frame_at(number).values[0] or 0.0) * 10)]
    return record.read_bytes().index(steps.to_bytes(2)) // PAGE_BYTES


def overwrite(record: Path, page: int) -> None:
    with record.open("r+b") as file:
        file.seek(page * PAGE_BYTES)
        file.write(b"\xa5" * PAGE_BYTES)


def test_a_sound_record_is_saved_whole(folder: Path) -> None:
    found = salvage(folder / RECORD_NAME)
    assert [one.given for one in found.inputs.values()] == [
        MARK,
        *map(frame_at, range(2, FRAMES + 1)),
    ]
    assert {one.raw for one in found.inputs.values()} == {None, RAW}
    assert list(found.events.values()) == [(1, closing_event(0.6))]
    assert found.holes() == ()


def test_a_lost_page_becomes_a_span_in_which_nobody_watched(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    record = folder / RECORD_NAME
    overwrite(record, page_of(record, 200))
    damaged = record.read_bytes()
    (hole,) = salvage(record).holes()
    assert hole.first <= 200 <= hole.last
    assert main(["salvage", str(folder)]) == 1
    said = capsys.readouterr()
    new = Path(said.out.strip())
    assert f"input {hole.first} to {hole.last} are lost" in said.err
    assert record.read_bytes() == damaged
    with open_record(new) as saved:
        inputs = list(saved.inputs())
        assert saved.meta.source is Source.SALVAGE
    (gap,) = [one for one in inputs if isinstance(one, Unseen)]
    assert (gap.start_s, gap.time_s, gap.why) == (hole.start_s, hole.end_s, WHY)
    kept = [n for n in range(2, FRAMES + 1) if not hole.first <= n <= hole.last]
    assert [one for one in inputs if one is not gap] == [MARK, *map(frame_at, kept)]
    assert find_changes(new) == ()


def test_nothing_is_written_over(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["salvage", str(folder), "--into", str(folder)]) == 2
    assert "cannot be made: File exists" in capsys.readouterr().err
    assert main(["salvage", str(folder)]) == 0
    assert main(["salvage", str(folder)]) == 0
    first, second = capsys.readouterr().out.split()
    assert (first, second) == (f"{folder}-salvaged-1", f"{folder}-salvaged-2")


def test_rows_that_are_still_in_the_log_are_found(tmp_path: Path) -> None:
    folder = make_folder(tmp_path)
    writer = open_writer(folder)
    writer.put(frame_at(1))
    assert writer.flush(PATIENCE_S)
    copy = tmp_path / "copy"
    copy.mkdir()
    for name in (RECORD_NAME, f"{RECORD_NAME}-wal"):
        (copy / name).write_bytes((folder / name).read_bytes())
    writer.close(PATIENCE_S)
    found = salvage(copy / RECORD_NAME)
    assert [one.given for one in found.inputs.values()] == [frame_at(1)]


@pytest.mark.parametrize("table", ["meta", "meta_copy"])
def test_what_the_record_says_about_itself_is_there_twice(folder: Path, table: str) -> None:
    record = folder / RECORD_NAME
    with closing(sqlite3.connect(record, isolation_level=None)) as plain:
        plain.execute(f"UPDATE {table} SET value = '9' WHERE key = 'groups'")
    assert "'groups'" in _verdict(folder)
    assert len(salvage(record).inputs) == FRAMES
    with closing(sqlite3.connect(record, isolation_level=None)) as plain:
        plain.execute("UPDATE meta SET value = '9'")
        plain.execute("UPDATE meta_copy SET value = '9'")
    with pytest.raises(RecordError, match="nothing in it says any more what was recorded"):
        salvage(record)


def _verdict(folder: Path) -> str:
    try:
        return " ".join(find_changes(folder))
    except RecordError as error:
        return str(error)


def test_a_row_whose_predecessor_is_gone_is_not_believed(folder: Path) -> None:
    with closing(sqlite3.connect(folder / RECORD_NAME, isolation_level=None)) as plain:
        plain.execute("DELETE FROM frame_0 WHERE n = 200")
        plain.execute("VACUUM")  # else its bytes are still there, and still proven
    missing = set(range(1, FRAMES + 1)) - set(salvage(folder / RECORD_NAME).inputs)
    assert missing == {200, 201}
