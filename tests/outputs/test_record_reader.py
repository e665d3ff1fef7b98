from __future__ import annotations

import sqlite3
from contextlib import closing
from dataclasses import replace
from pathlib import Path

import pytest

from firmware_host.clock import ManualClock, boot_id
from firmware_host.errors import RecordError
from firmware_host.model.channels import channel_named
from firmware_host.model.events import Phase, PhaseEntered
from firmware_host.model.samples import Frame, Group
from firmware_host.outputs.job_folder import job_sha256
from firmware_host.outputs.record_reader import open_record
from firmware_host.outputs.record_schema import (
    APPLICATION_ID,
    SCHEMA,
    RecordMeta,
    create_record,
    describe,
)
from tests.outputs.record_parts import (
    BENCH_TEXT,
    BOARD,
    GROUPS,
    JOB_TEXT,
    PATIENCE_S,
    RAW,
    VERSION,
    frame_at,
    make_folder,
    open_writer,
)


def recorded(base: Path, frames: int = 4) -> Path:
    folder = make_folder(base)
    writer = open_writer(folder)
    for number in range(frames):
        writer.put(frame_at(number), raw=RAW, arrived_s=number / 2 + 0.021)
    writer.close(PATIENCE_S)
    return folder


def change(folder: Path, statement: str) -> None:
    with closing(sqlite3.connect(folder / "record.sqlite", isolation_level=None)) as plain:
        plain.execute(statement)


def test_the_record_says_what_it_is(tmp_path: Path) -> None:
    folder = make_folder(tmp_path, ManualClock(77.25))
    with open_record(folder) as record:
        assert record.meta == RecordMeta(
            version=VERSION,
            part="kayak hatch cover",
            zero_wall="2026-03-01T08:01:17.250+00:00",
            zone="UTC",
            boot_id=boot_id(),
            zero_mono_s=77.25,
            clock_rate=1.0,
            bench_text=BENCH_TEXT,
            job_sha256=job_sha256(JOB_TEXT),
            groups=GROUPS,
        )
        assert record.groups == GROUPS
        assert record.job_toml() == JOB_TEXT.decode()
        assert (record.frame_count, record.event_count, record.is_over) == (0, 0, False)


def test_a_plain_sqlite_shell_reads_values_and_raw_words(tmp_path: Path) -> None:
    folder = recorded(tmp_path)
    with closing(sqlite3.connect(folder / "record.sqlite")) as plain:
        row = plain.execute(
            "SELECT t_ms, bag_dpa, part1_mk, missing, hex(raw), late_ms FROM frame_0 WHERE n = 3"
        ).fetchone()
        assert row[:4] == (1000, 10002, 293152, None)
        assert row[4].endswith("01901900" + "01A01910" + "01801900" + "00010001")
        assert row[5] == 21
        assert plain.execute("PRAGMA application_id").fetchone() == (APPLICATION_ID,)
        assert plain.execute("PRAGMA user_version").fetchone() == (SCHEMA,)
        assert plain.execute("PRAGMA integrity_check").fetchone() == ("ok",)


def test_every_table_is_strict(tmp_path: Path) -> None:
    folder = make_folder(tmp_path)
    with closing(sqlite3.connect(folder / "record.sqlite")) as plain:
        tables = plain.execute(
            "SELECT name, strict FROM pragma_table_list WHERE name NOT LIKE 'sqlite_%'"
        ).fetchall()
        assert {name for name, _ in tables} == {
            *(
                "head",
                "meta",
                "meta_copy",
                "input",
                "event",
                "session",
                "wall_clock",
                "lost",
                "frame_0",
                "frame_1",
            )
        }
        assert {strict for _, strict in tables} == {1}
        with pytest.raises(sqlite3.IntegrityError, match="cannot store TEXT"):
            plain.execute("INSERT INTO frame_1 VALUES(1, 0, 'warm', NULL, NULL, NULL, 0)")


def test_a_reading_with_its_raw_word_takes_at_most_twelve_bytes(tmp_path: Path) -> None:
    few, many = recorded(tmp_path, 0), recorded(tmp_path, 20_000)
    sizes = [(folder / "record.sqlite").stat().st_size for folder in (few, many)]
    per_reading = (sizes[1] - sizes[0]) / (20_000 * len(BOARD.channels))
    print(f"{per_reading:.2f} bytes per reading with its raw word")
    assert per_reading <= 12.0


def test_a_missing_record_is_named(tmp_path: Path) -> None:
    with pytest.raises(RecordError, match=r"record\.sqlite does not exist; name a job folder"):
        open_record(tmp_path)


def test_an_empty_file_is_no_record(tmp_path: Path) -> None:
    (tmp_path / "record.sqlite").touch()
    with pytest.raises(RecordError, match="is empty, so it is no record"):
        open_record(tmp_path)


def test_a_file_of_another_kind_is_refused(tmp_path: Path) -> None:
    (tmp_path / "record.sqlite").write_bytes(b"resin, hardener, glass\n" * 200)
    with pytest.raises(RecordError, match="is no SQLite file"):
        open_record(tmp_path)


def test_an_sqlite_file_of_somebody_else_is_refused(tmp_path: Path) -> None:
    with closing(sqlite3.connect(tmp_path / "record.sqlite")) as plain:
        plain.execute("CREATE TABLE meta(key, value, crc)")
    with pytest.raises(RecordError, match="is an SQLite file, but no record of Bag Vigil"):
        open_record(tmp_path)


def test_a_newer_schema_is_refused_and_the_program_to_be_updated(tmp_path: Path) -> None:
    folder = recorded(tmp_path)
    change(folder, f"PRAGMA user_version = {SCHEMA + 1}")
    with pytest.raises(RecordError, match=r"has schema 2, this program reads up to 1\. Update"):
        open_record(folder)


def test_a_torn_file_is_refused_with_the_next_step(tmp_path: Path) -> None:
    folder = recorded(tmp_path, 2000)
    path = folder / "record.sqlite"
    path.write_bytes(path.read_bytes()[: path.stat().st_size // 2])
    with pytest.raises(RecordError, match="is damaged: .* Keep the file, copy the folder"):
        open_record(folder)


def test_a_missing_table_is_damage(tmp_path: Path) -> None:
    folder = recorded(tmp_path)
    change(folder, "DROP TABLE frame_0")
    with (
        pytest.raises(RecordError, match="is damaged: no such table: frame_0"),
        open_record(folder) as record,
    ):
        list(record.inputs())


def test_a_changed_meta_is_refused(tmp_path: Path) -> None:
    folder = recorded(tmp_path)
    change(folder, "UPDATE meta SET value = '\"drone fairing\"' WHERE key = 'part'")
    with pytest.raises(RecordError, match="its entry 'part' was changed"):
        open_record(folder)


def test_a_changed_value_is_never_handed_out(tmp_path: Path) -> None:
    folder = recorded(tmp_path)
    change(folder, "UPDATE frame_0 SET bag_dpa = bag_dpa + 1 WHERE n = 3")
    with open_record(folder) as record:
        held = record.inputs()
        assert [next(held), next(held)] == [frame_at(0), frame_at(1)]
        with pytest.raises(RecordError, match="row 3 of frame_0 does not fit its check"):
            next(held)


def test_a_job_description_changed_after_the_pour_is_refused(tmp_path: Path) -> None:
    folder = recorded(tmp_path)
    (folder / "job.toml").write_bytes(JOB_TEXT.replace(b"\r\n", b"\n"))
    with (
        open_record(folder) as record,
        pytest.raises(RecordError, match="is not the text that was poured"),
    ):
        record.job_toml()


def test_a_reader_sees_one_moment_of_a_record_that_grows(tmp_path: Path) -> None:
    folder = make_folder(tmp_path)
    writer = open_writer(folder)
    writer.put(frame_at(0))
    assert writer.flush(PATIENCE_S)
    with open_record(folder) as record:
        writer.put(frame_at(1))
        assert writer.flush(PATIENCE_S)
        assert list(record.inputs()) == [frame_at(0)]
    writer.close(PATIENCE_S)


@pytest.mark.parametrize(
    ("phase", "over"),
    [(Phase.RELEASED, False), (Phase.CLOSED, True), (Phase.ABANDONED, True)],
)
def test_a_job_is_over_when_it_is_closed_or_abandoned(
    tmp_path: Path, phase: Phase, *, over: bool
) -> None:
    folder = make_folder(tmp_path)
    writer = open_writer(folder)
    writer.put(frame_at(0), [PhaseEntered(time_s=0.0, phase=Phase.WORKING, since_s=0.0)])
    writer.put(frame_at(1), [PhaseEntered(time_s=0.5, phase=phase, since_s=0.5)])
    writer.close(PATIENCE_S)
    with open_record(folder) as record:
        assert record.is_over is over


def test_a_record_is_never_written_over(tmp_path: Path) -> None:
    folder = recorded(tmp_path)
    with (
        open_record(folder) as record,
        pytest.raises(RecordError, match="exists already; a record is never written over"),
    ):
        create_record(folder, record.meta)
    with open_record(folder) as record:
        assert record.frame_count == 4


def test_a_group_that_names_a_channel_twice_makes_no_record(tmp_path: Path) -> None:
    clock = ManualClock()
    meta = describe(
        clock,
        version=VERSION,
        part="hatch",
        bench_text="",
        job_sha256="",
        groups=(Group("board", BOARD.channels[:1] * 2, None),),
    )
    with pytest.raises(ValueError, match="group board names a channel twice: bag_dpa, bag_dpa"):
        create_record(tmp_path, meta)
    assert list(tmp_path.iterdir()) == []


def test_a_group_of_64_channels_fits_a_record(tmp_path: Path) -> None:
    wide = Group("log", tuple(channel_named(f"part{number}") for number in range(1, 65)), 1.0)
    folder = make_folder(tmp_path)
    with open_record(folder) as record:
        meta = replace(record.meta, groups=(wide,))
    (folder / "record.sqlite").unlink()
    create_record(folder, meta)
    frame = Frame(0.0, 0, tuple(290.0 + number for number in range(64)), (None,) * 64)
    writer = open_writer(folder)
    writer.put(frame)
    writer.close(PATIENCE_S)
    with open_record(folder) as record:
        assert list(record.inputs()) == [frame]


@pytest.mark.parametrize(
    ("start_s", "end_s", "about", "first"),
    [
        (0.0, 1000.0, 5, [1]),
        (10.0, 12.0, 10, [20]),
        (10.1, 12.0, 2, [21]),
        (60.0, 70.0, 3, []),
    ],
)
def test_a_thinned_view_takes_rows_evenly_over_its_span(
    tmp_path: Path, start_s: float, end_s: float, about: int, first: list[int]
) -> None:
    folder = make_folder(tmp_path)
    writer = open_writer(folder)
    for number in range(1, 101):
        writer.put(frame_at(number))
    writer.close(PATIENCE_S)
    with open_record(folder) as record:
        seen = [
            round(frame.time_s * 2) for frame in record.thinned_frames(0, start_s, end_s, about)
        ]
    span = [n for n in range(1, 101) if start_s <= n / 2 <= end_s]
    assert set(seen) <= set(span)
    assert seen == sorted(set(seen))
    assert len(seen) >= min(about, len(span))
    assert len(seen) <= 2 * about + 1
    assert seen[:1] == first
