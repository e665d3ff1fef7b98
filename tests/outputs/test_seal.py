"""A finished folder is sealed: any bit that changes is found, also without this program."""

from __future__ import annotations

import shutil
import subprocess
from pathlib import Path

import pytest

from firmware_host.outputs.attachment import attach_page
from firmware_host.outputs.record_verify import find_changes
from firmware_host.outputs.seal import seal
from tests.outputs.record_parts import PATIENCE_S, frame_at, make_sealed, open_writer


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return make_sealed(tmp_path)


def flip_last_bit(path: Path) -> None:
    held = bytearray(path.read_bytes())
    held[-1] ^= 1
    path.write_bytes(held)


@pytest.mark.skipif(shutil.which("sha256sum") is None, reason="sha256sum is missing")
def test_the_manifest_is_one_that_others_read(folder: Path) -> None:
    words = ["sha256sum", "--check", "--strict", "manifest.sha256"]
    said = subprocess.run(words, cwd=folder, capture_output=True, text=True, check=True)
    assert said.stdout == "job.toml: OK\nREADME.txt: OK\nrecord.sqlite: OK\n"


def test_a_bit_that_means_nothing_to_sqlite_is_found_all_the_same(folder: Path) -> None:
    assert find_changes(folder) == ()
    flip_last_bit(folder / "record.sqlite")
    assert "record.sqlite is not, bit for bit, what was sealed" in " ".join(find_changes(folder))


def test_a_changed_text_and_a_missing_one_are_named(folder: Path) -> None:
    flip_last_bit(folder / "README.txt")
    assert "README.txt is not, bit for bit" in " ".join(find_changes(folder))
    (folder / "README.txt").unlink()
    assert find_changes(folder) == (f"{folder / 'README.txt'} was taken away",)


def test_a_folder_that_is_written_on_has_no_seal_until_its_end(folder: Path) -> None:
    writer = open_writer(folder)
    assert not (folder / "manifest.sha256").exists()
    writer.put(frame_at(2))
    writer.close(PATIENCE_S)
    assert find_changes(folder) == ()
    seal(folder)
    assert find_changes(folder) == ()


def test_a_page_that_is_taken_in_later_comes_under_a_new_seal(folder: Path) -> None:
    (folder / "report.html").write_bytes(b"<p>the page</p>")
    assert attach_page(folder)
    assert "report.html" in (folder / "manifest.sha256").read_text(encoding="ascii")
    assert find_changes(folder) == ()
    flip_last_bit(folder / "manifest.sha256")
    assert "was changed" in " ".join(find_changes(folder))
