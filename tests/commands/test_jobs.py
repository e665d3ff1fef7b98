"""`bagvigil jobs`: listed, filtered, compared; and what they teach the next plan."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from firmware_host.clock import SystemClock
from tests.commands.pours import hatch
from tests.commands.spoken import Say
from tests.outputs.past_parts import JOB, pour_folder

LOT = '[[lots]]\nwhat = "resin"\nlot = "B-77"\n'


@pytest.fixture
def shop(here: Path) -> Path:
    for gel_s in (2700.0, 2760.0, 2640.0):
        pour_folder(here / "jobs", gel_s=gel_s)
    pour_folder(here / "jobs", JOB.replace("hatch form", "fairing form"), gel_s=3300.0)
    return here


@pytest.mark.usefixtures("shop")
def test_past_jobs_are_listed_within_eighty_columns(say: Say) -> None:
    spoken = say("jobs")
    assert (spoken.code, spoken.err) == (0, "")
    lines = spoken.out.splitlines()
    assert len(lines) == 5
    assert max(map(len, lines)) <= 80
    assert lines[1].split() == ["2026-03-01-hatch-cover-4", "B-77", "1.50", "18.0", "-", "55"]


@pytest.mark.usefixtures("shop")
def test_a_filter_leaves_what_was_asked_for(say: Say) -> None:
    said = json.loads(say("jobs", "--form", "fairing", "--json").out)
    assert [job["job"] for job in said["jobs"]] == ["2026-03-01-hatch-cover-4"]
    assert say("jobs", "--lot", "X").out == "No such job.\n"


@pytest.mark.usefixtures("shop")
def test_two_jobs_are_compared_differences_first(say: Say) -> None:
    spoken = say("jobs", "--compare", "2026-03-01-hatch-cover-1", "2026-03-01-hatch-cover-4")
    rows = spoken.out.splitlines()[1:]
    marks = [row[0] for row in rows]
    assert marks == sorted(marks, reverse=True)
    assert rows[0].split() == ["*", "form", "hatch", "form", "fairing", "form"]
    assert rows[1].split() == ["*", "gel,", "min", "45", "55"]


@pytest.mark.usefixtures("shop")
def test_a_job_that_is_not_there_is_named(say: Say) -> None:
    spoken = say("jobs", "--compare", "2026-03-01-hatch-cover-1", "other")
    assert (spoken.code, spoken.out) == (2, "")
    assert spoken.err == "other: there is no such job. bagvigil jobs lists them.\n"


@pytest.mark.usefixtures("here")
def test_a_folder_that_is_not_there_is_a_usage_error(say: Say) -> None:
    assert say("jobs", "absent").code == 2


def test_the_next_plan_stands_on_the_jobs_of_this_shop(here: Path, say: Say) -> None:
    for gel_s in (2700.0, 2760.0, 2640.0, 3300.0):
        pour_folder(here / "jobs", gel_s=gel_s, clock=SystemClock())
    text = hatch(air=(18.0, 18.0, 18.0)).replace("[sheet]\ngel_min = 35.0\n", "[sheet]\n")
    (here / "job.toml").write_text(text.replace("gel_at_c = 20.0\n", "") + LOT, encoding="utf-8")
    spoken = say("plan", "job.toml", "--json")
    answer = json.loads(spoken.out)
    assert spoken.code == 0
    assert (answer["window"]["source"], answer["window"]["jobs"]) == ("jobs", 4)
    assert answer["window"]["gel_min"] == pytest.approx(47.0, abs=2.0)
    width = answer["window"]["high_min"] / answer["window"]["low_min"]
    assert width < 1.6
    assert "window_unproven" not in [one["name"] for one in answer["reasons"]]
    ninety = answer["window"]["gel_min"] * width ** (-1.2815515655 / (2 * 1.959963985))
    assert answer["gates"]["bag_sealed_by_min"] == pytest.approx(0.65 * ninety, rel=1e-3)
    assert answer["gates"]["last_smoothing_by_min"] == pytest.approx(0.8 * ninety, rel=1e-3)


def test_two_jobs_are_called_wide_and_give_no_advice(here: Path, say: Say) -> None:
    for gel_s in (2700.0, 2760.0):
        pour_folder(here / "jobs", gel_s=gel_s)
    text = hatch().replace("[sheet]", "[form]").split("[form]")[0]
    (here / "job.toml").write_text(text + LOT, encoding="utf-8")
    sheet = " ".join(say("plan", "job.toml").out.split())
    assert "from 2 jobs here: wide" in sheet
    assert "2 of 3 jobs with this resin: too few for advice." in sheet
