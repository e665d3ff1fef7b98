"""The work clock: the plan's own window while nothing changes, and what moves it."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from firmware_host.batch.checks import Measured
from firmware_host.batch.plan import plan_of
from firmware_host.config.load import parse_job
from firmware_host.core.monitor import Monitor
from firmware_host.core.work_clock import WorkClock
from firmware_host.cure.known import Outlook
from firmware_host.history.prior import RatePrior, with_prior
from firmware_host.model.samples import Mark, PliesLaid, Tick
from firmware_host.outputs.planned import rate_prior
from tests.core.story import JOB, Told

TODAY = date(2026, 3, 1)
CUP = "[[cup_tests]]\ngel_min = 31.0\nat_c = 20.0\ninitiator_percent = 1.5\n"
CONDITIONS = """
[conditions]
shop_c = 19.0
resin_c = 19.0
form_c = 18.0
station_pressure_hpa = 1009.0
"""
PLIES = """
[[plies]]
area_m2 = 0.19
areal_weight_g_per_m2 = 200.0
count = 4
[[plies]]
area_m2 = 0.01
areal_weight_g_per_m2 = 450.0
"""
LEARNT = RatePrior(ln_time_shift=0.1, ln_sd=0.14, source="jobs")
K20 = 293.15


def gates_min(clock: WorkClock, outlook: Outlook | None = None) -> tuple[float, float]:
    gates = clock.gates(outlook, 0.0)
    assert gates is not None
    return gates.sealed_by_s / 60.0, gates.smoothed_by_s / 60.0


@pytest.mark.parametrize("cups", ["", CUP])
@pytest.mark.parametrize("temp_c", [15.0, 20.0, 27.0])
def test_at_one_temperature_the_gates_are_the_plans(cups: str, temp_c: float) -> None:
    job = parse_job(JOB + cups, "job.toml")
    measured = Measured(shop_c=temp_c, resin_c=temp_c, form_c=temp_c, station_pressure_hpa=1009.0)
    window = plan_of(job, measured, (), TODAY).window
    said = replace(
        job, conditions=replace(job.conditions, shop_c=temp_c, resin_c=temp_c, form_c=temp_c)
    )
    learnt = rate_prior(said, (), TODAY)
    clock = WorkClock(with_prior(job, learnt), learnt, 0.0)
    for number in range(1, 31):
        clock.take(10.0 * number, temp_c + 273.15)
    assert gates_min(clock) == pytest.approx(
        (window.sealed_by_min, window.smoothed_by_min), rel=1e-4
    )
    gates = clock.gates(None, 0.0)
    assert gates is not None
    assert gates.proven is window.proven
    # Unproven, the plan also doubts dose law and activation energy; gates do not hang on it.
    near = 1e-4 if window.proven else 0.1
    assert gates.kick_low_s == pytest.approx(60.0 * window.low_min, rel=near)
    assert gates.kick_high_s == pytest.approx(60.0 * window.high_min, rel=near)


def test_a_shop_that_warms_brings_the_gates_nearer_and_one_that_cools_puts_them_off() -> None:
    job = parse_job(JOB, "job.toml")
    steady, warmed, cooled = (WorkClock(job, None, 0.0) for _ in range(3))
    for number in range(1, 61):
        steady.take(10.0 * number, K20)
        warmed.take(10.0 * number, K20 + (5.0 if number > 30 else 0.0))
        cooled.take(10.0 * number, K20 - (5.0 if number > 30 else 0.0))
    assert gates_min(warmed)[0] < gates_min(steady)[0] < gates_min(cooled)[0]


def test_a_gate_that_was_passed_stays_where_it_was() -> None:
    clock = WorkClock(with_prior(parse_job(JOB, "job.toml"), LEARNT), LEARNT, 0.0)
    at = []
    for number in range(1, 1500):
        clock.take(10.0 * number, K20 if number < 1000 else K20 - 10.0)
        at.append(gates_min(clock))
    assert at[1001] == at[-1] == pytest.approx(at[0], rel=1e-9)


def test_a_bank_that_sees_the_gel_much_sooner_is_believed() -> None:
    clock = WorkClock(parse_job(JOB, "job.toml"), None, 0.0)
    clock.take(10.0, K20)
    sealed_min, _ = gates_min(clock)
    likely_s = 0.5 * sealed_min / 0.65 * 60.0
    outlook = Outlook(
        gel_past=0.0,
        gel_s=(0.8 * likely_s, likely_s, 1.3 * likely_s),
        gel_early_s=0.85 * likely_s,
        conversion=(0.0, 0.0, 0.0),
        clock_past=0.0,
        died=0.0,
    )
    assert gates_min(clock, outlook)[0] == pytest.approx(0.65 * 1.2 * likely_s / 60.0)


def test_a_mixing_that_nobody_marked_brings_the_gates_earlier() -> None:
    clock = WorkClock(parse_job(JOB, "job.toml"), None, 0.0)
    clock.take(10.0, K20)
    sure, unsure = clock.gates(None, 0.0), clock.gates(None, 300.0)
    assert sure is not None
    assert unsure is not None
    assert sure.sealed_by_s - unsure.sealed_by_s == pytest.approx(0.65 * 1.2815515655446 * 300.0)


def test_with_no_couple_at_all_the_clock_runs_from_what_was_measured_by_hand() -> None:
    job = parse_job(JOB + CONDITIONS, "job.toml")
    given = job.conditions
    measured = Measured(
        shop_c=given.shop_c or 0.0,
        resin_c=given.resin_c or 0.0,
        form_c=given.form_c or 0.0,
        station_pressure_hpa=1009.0,
    )
    window = plan_of(job, measured, (), TODAY).window
    monitor = Monitor(job, ())
    monitor.step(Tick(10.0))
    monitor.step(Mark(10.0, "mixed", 10.0))
    work = monitor.view().work
    assert work is not None
    assert work.sealed_by_s is not None
    assert work.sealed_by_s - 10.0 == pytest.approx(60.0 * window.sealed_by_min, rel=1e-6)


def test_with_no_couple_and_no_measured_temperature_there_is_no_gate() -> None:
    monitor = Monitor(parse_job(JOB, "job.toml"), ())
    monitor.step(Mark(10.0, "mixed", 10.0))
    work = monitor.view().work
    assert work is not None
    assert (work.sealed_by_s, work.kick_low_s, work.proven) == (None, None, False)


def test_plies_are_counted_taken_back_and_never_beyond_the_job() -> None:
    told = Told(JOB + PLIES)
    told.wait(5.0)
    told.mark("mixed")
    seen = []
    for laid in (1, 2, 1, 4, 5, 6):
        told.step(PliesLaid(told.now_s, laid))
        work = told.monitor.view().work
        assert work is not None
        seen.append((work.plies_laid, work.plies, work.next_ply))
    first, last = "0.19 m2 200 g/m2", "0.01 m2 450 g/m2"
    assert seen == [
        (1, 5, first),
        (2, 5, first),
        (1, 5, first),
        (4, 5, last),
        (5, 5, ""),
        (5, 5, ""),
    ]


def test_a_second_cup_is_shown_with_the_moment_the_plan_has_it_mixed() -> None:
    told = Told(JOB + "[two_cups]\nwork_time_min = 15.0\n")
    told.wait(60.0)
    told.mark("mixed")
    told.wait(400.0)
    before = told.monitor.view().work
    told.mark("mixed")
    after = told.monitor.view().work
    assert before is not None
    assert after is not None
    assert (before.second_cup_s, before.second_cup_by_s) == (None, 60.0 + 450.0)
    assert after.second_cup_s == 460.0
    assert after.sealed_by_s == before.sealed_by_s


def test_a_dose_under_the_range_is_said_beside_the_clock() -> None:
    told = Told(JOB)
    told.wait(5.0)
    told.mark("mixed")
    told.mark("dosed", note="0.98 %")
    work = told.monitor.view().work
    assert work is not None
    assert (work.poured_percent, work.poured_doubt) == (0.98, "under 1")
