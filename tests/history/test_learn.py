"""Learning a shop's resin: what jobs, cups, dates, bounds and odd jobs do to the next forecast."""

from __future__ import annotations

import math
import random
from dataclasses import replace
from datetime import date, timedelta

import pytest

from firmware_host.history.learn import (
    CAN_SD,
    JOB_SD,
    MOST_CANS,
    Learnt,
    aged_until,
    forecast,
    learn,
    unlearnt,
    with_ratio,
)
from firmware_host.history.outcomes import Kind, Outcome
from tests.history.shops import POWER_LAW, jobs_of, shop_of

MONDAY = date(2026, 3, 2)
START = unlearnt(POWER_LAW, 0.40)
TEMP_K, DOSE = 293.15, 1.5


def pour(number: int = 0, **changes: object) -> Outcome:
    whole: dict[str, object] = {
        "job": f"job {number:04d}",
        "on": MONDAY + timedelta(days=number),
        "resin": "polyester",
        "lot": "A",
        "dose_percent": DOSE,
        "temp_k": TEMP_K,
        "gel_min": 45.0,
    }
    return Outcome(**(whole | changes))  # type: ignore[arg-type]  # a table of a test


def gel_min(known: Learnt, lot: str = "A") -> float:
    return math.exp(forecast(known, TEMP_K, DOSE, lot).mean)


def test_before_the_first_job_the_law_speaks_with_its_published_scatter() -> None:
    told = forecast(START, TEMP_K, DOSE)
    assert math.exp(told.mean) == pytest.approx(POWER_LAW.gel_min(TEMP_K, DOSE))
    assert told.sd == pytest.approx(math.hypot(0.40, CAN_SD, JOB_SD))


def test_one_job_moves_the_next_forecast_nearly_all_the_way() -> None:
    """(0.40^2 + 0.15^2) / (0.40^2 + 0.15^2 + 0.08^2) of the way in ln, by hand: 0.966."""
    law_min = POWER_LAW.gel_min(TEMP_K, DOSE)
    moved = math.log(gel_min(learn(START, [pour()])) / law_min) / math.log(45.0 / law_min)
    assert moved == pytest.approx(0.1825 / 0.1889, abs=1e-3)


def test_another_can_is_less_sure_than_the_same_one() -> None:
    known = learn(START, [pour(number) for number in range(6)])
    same, other = (forecast(known, TEMP_K, DOSE, lot).sd for lot in ("A", "B"))
    assert same < 0.11
    assert other == pytest.approx(math.hypot(CAN_SD, JOB_SD, CAN_SD), abs=0.03)


def test_a_gel_that_had_not_come_pushes_later_and_never_earlier() -> None:
    law_min = POWER_LAW.gel_min(TEMP_K, DOSE)
    early, due, late = (
        gel_min(learn(START, [pour(gel_min=None, not_by_min=share * law_min)]))
        for share in (0.2, 1.0, 3.0)
    )
    assert law_min <= early < due < late
    assert late > 2.0 * law_min


def test_a_cup_counts_through_the_ratio_and_a_shell_does_not() -> None:
    known = with_ratio(START, 1.5)
    cup = learn(known, [pour(kind=Kind.CUP, gel_min=20.0)])
    assert gel_min(cup) == pytest.approx(30.0, rel=0.01)
    assert (cup.cups, cup.shells) == (1, 0)


def test_cups_and_shells_of_one_can_teach_the_ratio() -> None:
    cups = [pour(n, kind=Kind.CUP, gel_min=20.0) for n in range(4)]
    shells = [pour(n, gel_min=36.0) for n in range(4, 8)]
    ratio = learn(START, [*cups, *shells]).ratio
    assert math.exp(ratio.mean) == pytest.approx(1.8, rel=0.03)
    assert ratio.sd < 0.08


def test_the_same_job_twice_counts_once() -> None:
    assert learn(START, [pour(), pour()]) == learn(START, [pour()])


def test_the_order_of_the_folders_does_not_matter() -> None:
    jobs = [pour(n, gel_min=40.0 + n) for n in range(5)]
    assert learn(START, jobs) == learn(START, reversed(jobs))


def test_old_jobs_count_less_than_new_ones() -> None:
    early = pour(0, gel_min=60.0, lot="A", on=MONDAY - timedelta(days=720))
    late = pour(1, gel_min=40.0, lot="B")
    near = learn(START, [replace(early, on=MONDAY), late])
    far = learn(START, [early, late])
    assert gel_min(far, "C") < gel_min(near, "C")


def test_a_year_without_a_job_widens_the_forecast() -> None:
    known = learn(START, [pour(n) for n in range(5)])
    later = aged_until(known, MONDAY + timedelta(days=370))
    assert forecast(later, TEMP_K, DOSE, "A").sd > forecast(known, TEMP_K, DOSE, "A").sd + 0.05


def test_a_job_that_fits_nothing_is_named_and_pulls_no_harder_than_at_three_sds() -> None:
    known = learn(START, [pour(n) for n in range(6)])
    assert known.surprises == ()
    odd = learn(known, [pour(9, gel_min=150.0)])
    odder = learn(known, [pour(9, gel_min=1500.0)])
    assert odd.surprises == ("job 0009",)
    assert gel_min(odd) < 50.0
    assert gel_min(odder) < 55.0


def test_only_the_last_cans_are_kept_in_mind() -> None:
    known = learn(START, [pour(n, lot=f"can {n}") for n in range(40)])
    assert len(known.cans) == MOST_CANS
    assert known.cans[-1] == "can 39"
    assert len(known.belief.names) == 4 + MOST_CANS


def test_a_job_without_a_can_number_teaches_the_shop_and_no_can() -> None:
    known = learn(START, [pour(lot="")])
    assert known.cans == ()
    assert gel_min(known, "") > gel_min(START, "")


def test_a_job_without_temperature_or_gel_teaches_nothing() -> None:
    assert learn(START, [pour(temp_k=None), pour(1, gel_min=None)]) == START


@pytest.mark.parametrize("seed", range(5))
def test_eight_jobs_bring_a_simulated_shop_within_its_own_scatter(seed: int) -> None:
    rng = random.Random(seed)
    shop = shop_of(rng)
    jobs = list(jobs_of(shop, rng, 9))
    known = learn(START, jobs[:8])
    last = jobs[8]
    assert last.temp_k is not None and last.gel_min is not None
    told = forecast(known, last.temp_k, last.dose_percent, last.lot)
    assert abs(math.log(last.gel_min) - told.mean) < 3.0 * told.sd
    assert told.sd < 0.35
