"""What a record is begun with: the sheet, and what this shop knows of its resin."""

from __future__ import annotations

import math
from datetime import date
from pathlib import Path

import pytest

from firmware_host.config.load import parse_job
from firmware_host.history.law import law_of
from firmware_host.outputs.past_jobs import past_jobs
from firmware_host.outputs.planned import planned_for
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
