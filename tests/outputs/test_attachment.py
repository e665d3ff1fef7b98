from __future__ import annotations

import hashlib
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from firmware_host.errors import BusyError, RecordError
from firmware_host.outputs.attachment import attach_page, attachments
from firmware_host.outputs.record_reader import open_record
from firmware_host.outputs.record_schema import PAGE_NAME
from firmware_host.outputs.record_verify import find_changes
from tests.outputs.record_parts import PATIENCE_S, frame_at, make_folder, open_writer

PAGE = b"<!DOCTYPE html><p>tight</p>"


def folder_with_page(base: Path, page: bytes = PAGE) -> Path:
    folder = make_folder(base)
    writer = open_writer(folder)
    writer.put(frame_at(1))
    writer.close(PATIENCE_S)
    (folder / PAGE_NAME).write_bytes(page)
    return folder


def held(folder: Path) -> list[tuple[int, str, int, str, bytes]]:
    with open_record(folder) as record:
        return [(one.n, one.name, one.inputs, one.sha256, one.body) for one in attachments(record)]


def test_a_page_is_kept_with_its_fingerprint_and_where_the_record_stood(tmp_path: Path) -> None:
    folder = folder_with_page(tmp_path)
    assert attach_page(folder)
    assert held(folder) == [(1, PAGE_NAME, 1, hashlib.sha256(PAGE).hexdigest(), PAGE)]
    assert find_changes(folder) == ()


def test_the_same_page_is_kept_once_and_another_one_beside_it(tmp_path: Path) -> None:
    folder = folder_with_page(tmp_path)
    assert attach_page(folder)
    assert not attach_page(folder)
    (folder / PAGE_NAME).write_bytes(b"another")
    assert attach_page(folder)
    assert [(n, body) for n, _, _, _, body in held(folder)] == [(1, PAGE), (2, b"another")]


def test_a_folder_without_a_page_stays_as_it_is(tmp_path: Path) -> None:
    folder = folder_with_page(tmp_path)
    (folder / PAGE_NAME).unlink()
    before = (folder / "record.sqlite").read_bytes()
    assert not attach_page(folder)
    assert (folder / "record.sqlite").read_bytes() == before


def test_a_record_that_is_being_written_is_not_touched(tmp_path: Path) -> None:
    folder = folder_with_page(tmp_path)
    writer = open_writer(folder)
    with pytest.raises(BusyError, match="is being written by process"):
        attach_page(folder)
    writer.put(frame_at(2))
    assert writer.flush(PATIENCE_S)
    assert writer.trouble == ""
    writer.close(PATIENCE_S)
    assert held(folder) == []
    assert attach_page(folder)


def test_a_job_goes_on_after_a_page_was_taken_in(tmp_path: Path) -> None:
    folder = folder_with_page(tmp_path)
    attach_page(folder)
    writer = open_writer(folder)
    writer.put(frame_at(2))
    writer.close(PATIENCE_S)
    with open_record(folder) as record:
        assert record.frame_count == 2
    assert find_changes(folder) == ()


@pytest.mark.parametrize("column", ["body = x'00'", "sha256 = 'x'", "inputs = 7"])
def test_a_changed_page_is_named_and_never_handed_out(tmp_path: Path, column: str) -> None:
    folder = folder_with_page(tmp_path)
    attach_page(folder)
    with closing(sqlite3.connect(folder / "record.sqlite")) as connection:
        connection.execute(f"UPDATE attachment SET {column}")
        connection.commit()
    changes = find_changes(folder)
    assert changes == (f"{folder / 'record.sqlite'}: attachment 1 (report.html) was changed",)
    with pytest.raises(RecordError, match=r"attachment 1 \(report.html\) was changed"):
        held(folder)


def test_a_page_that_was_taken_away_from_between_is_missed(tmp_path: Path) -> None:
    folder = folder_with_page(tmp_path)
    attach_page(folder)
    (folder / PAGE_NAME).write_bytes(b"another")
    attach_page(folder)
    with closing(sqlite3.connect(folder / "record.sqlite")) as connection:
        connection.execute("DELETE FROM attachment WHERE n = 1")
        connection.commit()
    assert find_changes(folder) == (
        f"{folder / 'record.sqlite'}: attachment 1 to 1 were taken away",
    )
