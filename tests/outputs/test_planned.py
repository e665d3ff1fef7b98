"""What a record is begun with: the sheet, and what this shop knows of its resin."""

from __future__ import annotations

import math
from datetime import date
from pathlib import Path

import msgspec
import pytest

from firmware_host.config.load import parse_job
from firmware_host.history.law import law_of
from firmware_host.outputs.past_jobs import LEDGER_NAME, past_jobs
from firmware_host.outputs.planned import note_what_it_taught, plan_at_start, planned_for
from firmware_host.outputs.record_reader import open_record
from tests.commands.pours import hatch
from tests.outputs.past_parts import JOB, PART_K, pour_folder

TODAY = date(2026, 3, 2)


def test_a_shop_without_jobs_begins_from_the_file(tmp_path: Path) -> None:
    planned = planned_for(parse_job(JOB, "job.toml"), tmp_path, TODAY)
    assert (planned.sheet, planned.learnt) == ("", None)


def test_past_jobs_move_the_start_of_the_cure(tmp_path: Path) -> None:
    for _ in range(3):
        pour_folder(tmp_path, gel_s=3600.0)
    past_jobs(tmp_path)
    job = parse_job(JOB, "job.toml")
    learnt = planned_for(job, tmp_path, TODAY).learnt
    assert learnt is not None
    assert learnt.source == "jobs"
    assert learnt.ln_sd < 0.15
    written_min = law_of(job.resin).gel_min(PART_K, 1.5)
    assert math.exp(learnt.ln_time_shift) == pytest.approx(60.0 / written_min, rel=0.06)


def test_the_sheet_is_kept_where_everything_was_measured(tmp_path: Path) -> None:
    sheet = planned_for(parse_job(hatch(), "job.toml"), tmp_path, TODAY).sheet
    assert "FIT TO MIX" in sheet
    assert "52 drops" in sheet


def test_a_record_of_before_has_neither(tmp_path: Path) -> None:
    with open_record(pour_folder(tmp_path)) as record:
        assert (record.meta.plan_sheet, record.meta.learnt) == ("", None)


@pytest.mark.parametrize(
    "change",
    [
        {"gel_min": -3.0},
        {"gel_min": 0.0},
        {"temp_k": -1.0},
        {"temp_k": 1e9},
        {"dose_percent": 0.0},
        {"dose_percent": -1.5},
        {"gel_ln_sd": -1.0},
        {"on": "0001-01-01"},
        {"work_min": -5.0},
    ],
)
def test_a_line_changed_by_hand_neither_stops_a_watch_nor_takes_the_others_with_it(
    tmp_path: Path, change: dict[str, object]
) -> None:
    pour_folder(tmp_path, gel_s=3600.0)
    bad = pour_folder(tmp_path, gel_s=3600.0)
    past_jobs(tmp_path)
    lines = [msgspec.json.decode(one) for one in ledger(tmp_path).splitlines()]
    for one in lines:
        if one["folder"] == bad.name:
            one["outcomes"][0] |= change
    text = b"".join(msgspec.json.encode(one) + b"\n" for one in lines)
    (tmp_path / LEDGER_NAME).write_bytes(text)
    planned = plan_at_start(parse_job(JOB, "job.toml"), tmp_path, TODAY)
    assert planned.learnt is not None
    assert planned.learnt.source == "jobs"


def test_what_cannot_be_planned_at_all_is_said_and_left_out(
    tmp_path: Path, caplog: pytest.LogCaptureFixture, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(*_: object) -> None:
        raise ArithmeticError("no such number")

    monkeypatch.setattr("firmware_host.outputs.planned.outlook_of", broken)
    planned = plan_at_start(parse_job(JOB, "job.toml"), tmp_path, TODAY)
    assert (planned.sheet, planned.learnt) == ("", None)
    assert "is left out: no such number" in caplog.text


def test_a_job_that_is_over_is_known_to_the_next_watch_without_a_plan(tmp_path: Path) -> None:
    note_what_it_taught(pour_folder(tmp_path, gel_s=3600.0))
    learnt = plan_at_start(parse_job(JOB, "job.toml"), tmp_path, TODAY).learnt
    assert learnt is not None
    assert learnt.source == "jobs"


def test_an_unreadable_folder_teaches_nothing_and_says_so(
    tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    folder = pour_folder(tmp_path)
    (folder / "job.toml").write_text("[job]\n", encoding="utf-8")
    note_what_it_taught(folder)
    assert "teaches the next job nothing" in caplog.text
    assert not (tmp_path / LEDGER_NAME).exists()


def ledger(base: Path) -> bytes:
    return (base / LEDGER_NAME).read_bytes()
