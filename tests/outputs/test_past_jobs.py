"""Past jobs read from their folders once, and then from the line beside them."""

from __future__ import annotations

from pathlib import Path

import pytest

from firmware_host.history.outcomes import Outcome
from firmware_host.outputs import past_jobs as module
from firmware_host.outputs.past_jobs import LEDGER_NAME, kept_outcomes, past_jobs
from firmware_host.outputs.record_schema import JOB_NAME, RECORD_NAME
from tests.outputs.past_parts import JOB, PART_K, pour_folder

CUP = "[[cup_tests]]\ngel_min = 22.0\nat_c = 20.0\non = 2026-02-20\n"


def test_a_folder_gives_what_its_record_saw(tmp_path: Path) -> None:
    folder = pour_folder(tmp_path)
    (one,) = past_jobs(tmp_path).outcomes
    assert (one.job, one.lot, one.form) == (folder.name, "B-77", "hatch form")
    assert (one.gel_min, one.work_min, one.dose_percent) == (40.0, 15.0, 1.5)
    assert one.temp_k == pytest.approx(PART_K)


def test_a_second_look_opens_no_record(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    pour_folder(tmp_path)
    first = past_jobs(tmp_path)

    def opened(folder: Path) -> tuple[Outcome, ...]:
        raise AssertionError(f"{folder} was opened again")

    monkeypatch.setattr(module, "_read", opened)
    assert past_jobs(tmp_path) == first
    assert kept_outcomes(tmp_path) == first.outcomes


def test_what_was_never_read_is_not_known_to_a_watch(tmp_path: Path) -> None:
    pour_folder(tmp_path)
    assert kept_outcomes(tmp_path) == ()


def test_a_record_that_changed_is_read_again(tmp_path: Path) -> None:
    folder = pour_folder(tmp_path, gel_s=2400.0)
    past_jobs(tmp_path)
    other = pour_folder(tmp_path / "elsewhere", gel_s=3000.0)
    (folder / RECORD_NAME).write_bytes((other / RECORD_NAME).read_bytes())
    (one,) = past_jobs(tmp_path).outcomes
    assert one.gel_min == 50.0


def test_a_folder_that_is_gone_counts_no_more(tmp_path: Path) -> None:
    kept, gone = pour_folder(tmp_path), pour_folder(tmp_path, gel_s=3000.0)
    past_jobs(tmp_path)
    (gone / RECORD_NAME).unlink()
    assert [one.job for one in past_jobs(tmp_path).outcomes] == [kept.name]


def test_a_cup_test_in_the_job_file_comes_with_its_folder(tmp_path: Path) -> None:
    pour_folder(tmp_path, JOB + CUP)
    kinds = [one.kind.value for one in past_jobs(tmp_path).outcomes]
    assert kinds == ["shell", "cup"]


def test_a_job_without_couples_falls_back_on_what_was_measured_by_hand(tmp_path: Path) -> None:
    by_hand = "[conditions]\nshop_c = 17.0\nresin_c = 17.0\nform_c = 17.0\n"
    pour_folder(tmp_path, JOB + by_hand, part_k=None)
    pour_folder(tmp_path, JOB, part_k=None)
    with_it, without = past_jobs(tmp_path).outcomes
    assert with_it.temp_c == pytest.approx(17.0)
    assert without.temp_k is None


def test_a_folder_that_cannot_be_read_is_named_and_left_out(tmp_path: Path) -> None:
    good, bad = pour_folder(tmp_path), pour_folder(tmp_path)
    (bad / JOB_NAME).write_text("[job]\n", encoding="utf-8")
    past = past_jobs(tmp_path)
    assert [one.job for one in past.outcomes] == [good.name]
    assert "job.toml is not the text that was poured" in past.problems[0]


@pytest.mark.parametrize("line", [b"\xff\xfe\n", b"{}\n", b"[1]\n", b'{"schema":1'])
def test_a_line_that_cannot_be_read_costs_a_second_reading_only(
    tmp_path: Path, line: bytes
) -> None:
    pour_folder(tmp_path)
    (tmp_path / LEDGER_NAME).write_bytes(line)
    assert len(past_jobs(tmp_path).outcomes) == 1


def test_no_folder_means_no_jobs(tmp_path: Path) -> None:
    past = past_jobs(tmp_path / "absent")
    assert (past.outcomes, past.problems) == ((), ())
