"""One change for the next pull, from three jobs on."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from firmware_host.batch.advice import advice
from firmware_host.batch.checks import Measured
from firmware_host.batch.plan import plan_of
from firmware_host.config.load import parse_job
from firmware_host.history.outcomes import Outcome
from tests.outputs.past_parts import JOB

TODAY = date(2026, 3, 20)
AIR = Measured(shop_c=18.0, resin_c=18.0, form_c=18.0, station_pressure_hpa=1009.0)


def pours(count: int, *, work_min: float | None = 15.0, last_min: float = 40.0) -> list[Outcome]:
    return [
        Outcome(
            job=f"job {number}", on=TODAY - timedelta(days=20 - number), resin="polyester",
            lot="B-77", dose_percent=1.5, temp_k=291.15, work_min=work_min,
            gel_min=last_min if number == count - 1 else 40.0,
        )
        for number in range(count)
    ]  # fmt: skip


def advised(past: list[Outcome], work_min: float = 15.0) -> str:
    job = parse_job(JOB.replace("[resin]", f"work_time_min = {work_min}\n[resin]", 1), "job.toml")
    return advice(plan_of(job, AIR, past, TODAY))


@pytest.mark.parametrize("count", [0, 1, 2])
def test_below_three_jobs_there_is_no_advice(count: int) -> None:
    said = f"{count} of 3 jobs with this resin: too few for advice."
    assert advised(pours(count)) == said


def test_work_that_took_longer_than_planned_is_said_first() -> None:
    assert advised(pours(3, work_min=19.0)).startswith("Plan 19 min of work")


def test_a_gate_missed_by_the_planned_work_asks_for_less_initiator() -> None:
    assert advised(pours(4, work_min=None), work_min=26.0).startswith("Dose less: ")


def test_a_gate_far_beyond_the_work_allows_more_initiator() -> None:
    assert advised(pours(4, work_min=None), work_min=8.0).startswith("Dose more: ")


def test_a_last_job_that_fits_nothing_asks_for_a_cup() -> None:
    assert advised(pours(6, last_min=120.0)).startswith("Do a cup test first")


def test_jobs_that_went_as_planned_ask_for_nothing() -> None:
    assert advised(pours(4)).startswith("Change nothing")
