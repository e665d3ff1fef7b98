"""The predicted peak on the sheet, against what form and job bear."""

from __future__ import annotations

from datetime import date

import pytest

from firmware_host.batch.checks import Measured
from firmware_host.batch.plan import Plan, plan_of
from firmware_host.batch.reasons import Weight
from firmware_host.batch.sheet import sheet_of
from firmware_host.config.load import parse_job

JOB = """
[job]
part = "telescope dust cap"
work_time_min = 10.0
[resin]
family = "polyester"
[laminate]
thickness_mm = {mm}
"""
MEASURED = Measured(shop_c=20.0, resin_c=20.0, form_c=20.0, station_pressure_hpa=1009.0)


def planned(mm: float, more: str = "") -> Plan:
    job = parse_job(JOB.format(mm=mm) + more, "job.toml")
    return plan_of(job, MEASURED, (), date(2026, 3, 1))


def hot(plan: Plan) -> list[tuple[Weight, bool]]:
    return [(one.weight, one.stands) for one in plan.reasons if one.name == "peak_hot"]


def test_a_thicker_part_gets_hotter_and_its_doubt_wider() -> None:
    thin, thick = planned(2.0).peak, planned(12.0).peak
    assert 20.0 < thin.temp_c < thin.high_c < thick.temp_c < thick.high_c
    assert thick.high_c - thick.temp_c > thin.high_c - thin.temp_c


@pytest.mark.parametrize(
    ("limit_c", "found"),
    [(-1.0, [(Weight.BLOCKS, True)]), (1.0, [(Weight.NOTICE, False)]), (60.0, [])],
)
def test_a_form_that_does_not_bear_the_likely_peak_blocks_and_a_near_one_is_said(
    limit_c: float, found: list[tuple[Weight, bool]]
) -> None:
    likely_c = planned(6.0).peak.temp_c
    form = f"[form]\nhighest_temperature_c = {likely_c + limit_c:.2f}\n"
    plan = planned(6.0, form)
    assert hot(plan) == found
    assert plan.peak.whose == ("the form" if likely_c + limit_c < 200.0 else "the job")


def test_a_limit_that_nobody_wrote_down_never_forbids() -> None:
    plan = planned(40.0)
    assert plan.peak.temp_c > 60.0
    assert hot(plan) == [(Weight.NOTICE, False)]


def test_the_lower_of_two_written_limits_rules() -> None:
    both = "[form]\nhighest_temperature_c = 70.0\n[limits]\nhighest_temperature_c = 55.0\n"
    assert (planned(3.0, both).peak.limit_c, planned(3.0, both).peak.whose) == (55.0, "the job")


def test_the_sheet_names_peak_and_limit() -> None:
    text = sheet_of(planned(3.0, "[form]\nhighest_temperature_c = 62.0\n"))
    assert "PEAK       laminate about " in text
    assert "the form bears 62 C" in " ".join(text.split())
