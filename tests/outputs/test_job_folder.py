from __future__ import annotations

import os
import stat
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from firmware_host.clock import ManualClock
from firmware_host.errors import RecordError
from firmware_host.outputs.job_folder import (
    LONGEST_SLUG,
    OpenJob,
    create_job_folder,
    find_open_job,
    job_folders,
    job_sha256,
    slug_of,
)
from firmware_host.outputs.record_schema import Source, create_record, describe
from tests.outputs.record_parts import (
    GROUPS,
    JOB_TEXT,
    PATIENCE_S,
    VERSION,
    closing_event,
    frame_at,
    make_folder,
    open_writer,
)

DAY = datetime(2026, 11, 25, 23, 30, tzinfo=timezone(timedelta(hours=1)))


def test_a_folder_is_named_by_the_local_day_and_the_part(tmp_path: Path) -> None:
    folder = create_job_folder(tmp_path / "jobs", "kayak hatch cover", DAY, JOB_TEXT)
    assert folder == tmp_path / "jobs" / "2026-11-25-kayak-hatch-cover-1"
    assert [path.name for path in folder.iterdir()] == ["job.toml"]


def test_the_job_description_is_kept_byte_for_byte(tmp_path: Path) -> None:
    text = b'\xef\xbb\xbf[job]\r\npart = "\xc3\xb6"\n\n'
    folder = create_job_folder(tmp_path, "part", DAY, text)
    assert (folder / "job.toml").read_bytes() == text


def test_a_second_pour_of_a_day_gets_the_next_number(tmp_path: Path) -> None:
    names = [create_job_folder(tmp_path, "hatch", DAY, JOB_TEXT).name for _ in range(3)]
    assert names == [f"2026-11-25-hatch-{number}" for number in (1, 2, 3)]


@pytest.mark.parametrize(
    ("part", "slug"),
    [
        ("Kayak Hatch Cover", "kayak-hatch-cover"),
        ("Größe 2.5 / rév. B", "grosse-2-5-rev-b"),
        ("../../etc/passwd", "etc-passwd"),
        ("..", "job"),
        ("\u8239", "job"),
        (" \x00\n", "job"),
        ("--a--b--", "a-b"),
        ("x" * 300, "x" * LONGEST_SLUG),
        ("a" * 39 + " b", "a" * 39),
    ],
)
def test_any_name_becomes_a_plain_one(part: str, slug: str) -> None:
    assert slug_of(part) == slug


@given(st.text())
def test_no_name_leaves_its_folder_or_grows_too_long(part: str) -> None:
    slug = slug_of(part)
    assert 0 < len(slug) <= LONGEST_SLUG
    assert set(slug) <= set("abcdefghijklmnopqrstuvwxyz0123456789-")
    assert not slug.startswith("-")
    assert not slug.endswith("-")


def test_nobody_else_may_write_and_strangers_may_not_read(tmp_path: Path) -> None:
    old = os.umask(0)
    try:
        folder = make_folder(tmp_path / "jobs")
        writer = open_writer(folder)
        assert writer.flush(PATIENCE_S)
        modes = {path.name: stat.S_IMODE(path.stat().st_mode) for path in folder.iterdir()}
        writer.close(PATIENCE_S)
    finally:
        os.umask(old)
    assert stat.S_IMODE(folder.stat().st_mode) == 0o750
    assert set(modes.values()) == {0o640}
    assert {"job.toml", "record.sqlite", "record.sqlite-wal", "record.lock"} <= set(modes)


def test_a_place_that_takes_no_folder_is_named(tmp_path: Path) -> None:
    (tmp_path / "jobs").write_text("not a folder")
    with pytest.raises(RecordError, match=r"no job folder can be made in .*jobs: .*\[record\]"):
        create_job_folder(tmp_path / "jobs", "hatch", DAY, JOB_TEXT)


def test_a_job_that_was_cut_off_is_found_by_its_text(tmp_path: Path) -> None:
    folder = make_folder(tmp_path)
    assert find_open_job(tmp_path, JOB_TEXT) == OpenJob(folder=folder, problems=())
    assert find_open_job(tmp_path, JOB_TEXT + b"\n") == OpenJob(folder=None, problems=())
    assert find_open_job(tmp_path / "none", JOB_TEXT) == OpenJob(folder=None, problems=())


def test_a_daemon_that_was_stopped_has_not_ended_the_job(tmp_path: Path) -> None:
    folder = make_folder(tmp_path)
    open_writer(folder).close(PATIENCE_S)
    assert find_open_job(tmp_path, JOB_TEXT).folder == folder


def test_a_job_that_is_over_is_not_gone_on_with(tmp_path: Path) -> None:
    writer = open_writer(make_folder(tmp_path))
    writer.put(frame_at(0), [closing_event(0.0)])
    writer.close(PATIENCE_S)
    assert find_open_job(tmp_path, JOB_TEXT).folder is None


def test_the_newest_of_several_open_jobs_is_taken(tmp_path: Path) -> None:
    folders = [make_folder(tmp_path, ManualClock(at_s)) for at_s in (0.0, 7200.0, 3600.0)]
    assert find_open_job(tmp_path, JOB_TEXT).folder == folders[1]
    assert list(job_folders(tmp_path)) == folders


def test_a_replayed_log_is_never_gone_on_with(tmp_path: Path) -> None:
    folder = create_job_folder(tmp_path, "hatch", datetime(2026, 1, 1, tzinfo=UTC), JOB_TEXT)
    meta = describe(
        ManualClock(),
        source=Source.LOG,
        version=VERSION,
        part="hatch",
        bench_text="",
        job_sha256=job_sha256(JOB_TEXT),
        groups=GROUPS,
    )
    create_record(folder, meta)
    assert find_open_job(tmp_path, JOB_TEXT) == OpenJob(folder=None, problems=())


def test_a_damaged_record_of_the_same_job_is_named_and_stops_nothing(tmp_path: Path) -> None:
    older, newer = make_folder(tmp_path), make_folder(tmp_path, ManualClock(3600.0))
    (newer / "record.sqlite").write_bytes(b"rotten" * 1000)
    found = find_open_job(tmp_path, JOB_TEXT)
    assert found.folder == older
    assert found.problems == (f"{newer / 'record.sqlite'} is no SQLite file, so it is no record.",)
