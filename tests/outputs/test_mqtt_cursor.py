"""The cursor lags or fits; it never runs ahead."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from firmware_host.outputs.mqtt_cursor import (
    CURSOR_NAME,
    Cursor,
    last_told,
    read_cursor,
    write_cursor,
)


def test_a_job_that_was_never_told_has_none(tmp_path: Path) -> None:
    assert read_cursor(tmp_path) is None


def test_what_was_written_is_read_and_nothing_else_is_left(tmp_path: Path) -> None:
    write_cursor(tmp_path, "north-bench", Cursor(event=3))
    write_cursor(tmp_path, "north-bench", Cursor(event=57, summed=41))
    assert read_cursor(tmp_path) == Cursor(event=57, summed=41)
    assert [path.name for path in tmp_path.iterdir()] == [CURSOR_NAME]


@pytest.mark.parametrize(
    "text",
    [
        "",
        "{",
        "[]",
        '{"schema":1}',
        '{"schema":2,"bench":"north-bench","event":9}',
        '{"schema":1,"bench":"north-bench","event":-9}',
        '{"schema":1,"bench":"north-bench","event":9.5}',
        '{"schema":1,"bench":"north-bench","event":-9,"summed":-1}',
    ],
)
def test_a_cursor_that_makes_no_sense_says_everything_again(tmp_path: Path, text: str) -> None:
    (tmp_path / CURSOR_NAME).write_text(text)
    assert read_cursor(tmp_path) == Cursor()


def test_a_cursor_of_before_there_were_lines_for_many_is_read(tmp_path: Path) -> None:
    (tmp_path / CURSOR_NAME).write_text('{"schema":1,"bench":"north-bench","event":9}')
    assert read_cursor(tmp_path) == Cursor(event=9, summed=0)


def test_the_job_that_a_bench_last_spoke_of_is_found(tmp_path: Path) -> None:
    benches = ("north-bench", "north-bench", "south-bench", "north-bench")
    folders = [tmp_path / f"job-{number}" for number in range(5)]
    for age, (folder, bench) in enumerate(zip(folders, benches, strict=False)):
        folder.mkdir()
        write_cursor(folder, bench, Cursor(event=1))
        os.utime(folder / CURSOR_NAME, (age, age))
    (folders[1] / CURSOR_NAME).write_text("torn")
    folders[4].mkdir()
    assert last_told(tmp_path, "north-bench", but=folders[3]) == folders[0]
    assert last_told(tmp_path, "west-bench", but=folders[3]) is None
