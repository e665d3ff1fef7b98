from __future__ import annotations

import os
from pathlib import Path

import pytest

from firmware_host.errors import BusyError, RecordError
from firmware_host.outputs.folder_lock import LOCK_NAME, FolderLock


def test_the_second_taker_hears_who_holds_the_folder(tmp_path: Path) -> None:
    lock = FolderLock(tmp_path)
    with pytest.raises(BusyError, match=f"is being written by process {os.getpid()}") as refusal:
        FolderLock(tmp_path)
    assert refusal.value.exit_code == 3
    lock.release()


def test_a_released_folder_can_be_taken_and_holds_no_file(tmp_path: Path) -> None:
    lock = FolderLock(tmp_path)
    lock.release()
    lock.release()
    assert list(tmp_path.iterdir()) == []
    FolderLock(tmp_path).release()


def test_a_file_left_over_from_a_crash_is_taken_over(tmp_path: Path) -> None:
    (tmp_path / LOCK_NAME).write_text("1234567890\n")
    lock = FolderLock(tmp_path)
    assert (tmp_path / LOCK_NAME).read_text() == f"{os.getpid()}\n"
    lock.release()


def test_a_link_in_place_of_the_lock_is_not_followed(tmp_path: Path) -> None:
    precious = tmp_path / "precious"
    precious.write_text("keep")
    (tmp_path / LOCK_NAME).symlink_to(precious)
    with pytest.raises(RecordError, match=r"record\.lock cannot be opened"):
        FolderLock(tmp_path)
    assert precious.read_text() == "keep"


def test_a_folder_that_is_not_there_is_named(tmp_path: Path) -> None:
    with pytest.raises(RecordError, match="No such file or directory"):
        FolderLock(tmp_path / "gone")
