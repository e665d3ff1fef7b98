from __future__ import annotations

import os
import stat
from pathlib import Path

import pytest

from firmware_host.errors import RecordError
from firmware_host.outputs.whole_file import write_whole


def test_a_file_is_replaced_whole_and_no_part_is_left(tmp_path: Path) -> None:
    path = tmp_path / "report.html"
    path.write_bytes(b"old")
    write_whole(path, b"new")
    assert path.read_bytes() == b"new"
    assert [held.name for held in tmp_path.iterdir()] == ["report.html"]
    assert stat.S_IMODE(path.stat().st_mode) & 0o027 == 0


def test_what_stood_there_still_stands_when_the_disk_refuses(tmp_path: Path) -> None:
    path = tmp_path / "report.html"
    path.mkdir()
    with pytest.raises(RecordError, match=r"report\.html cannot be written"):
        write_whole(path, b"new")
    assert path.is_dir()
    assert [held.name for held in tmp_path.iterdir()] == ["report.html"]


def test_a_folder_that_is_not_there_is_named(tmp_path: Path) -> None:
    with pytest.raises(RecordError, match="No such file"):
        write_whole(tmp_path / "gone" / "report.html", b"new")


def test_a_part_that_is_a_link_is_not_followed(tmp_path: Path) -> None:
    victim = tmp_path / "victim"
    victim.write_bytes(b"mine")
    (tmp_path / f".report.html.{os.getpid()}.part").symlink_to(victim)
    with pytest.raises(RecordError):
        write_whole(tmp_path / "report.html", b"new")
    assert victim.read_bytes() == b"mine"
