"""The bank of batches: the same every time, and as wide as it says."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from firmware_host.cure.population import (
    ACTIVATION_SD_J_PER_MOL,
    CLOCK_MODEL_SD,
    DYING_CHANCE,
    DYING_EVERY,
    GROWTH_SD,
    HEAT_SD,
    INDUCTION_SD,
    LATE_CHANCE,
    LATE_EVERY,
    LOOSE_FROM,
    LOSS_SD,
    MEMBERS,
    MOULD_SD,
    NEVER_SHARE,
    SEED_SD,
    SHARED_RATE_SD,
    Array,
    Population,
    population_of,
)
from tests.cure.jobs import EPOXY, job_of

SD = 0.35
"""Doubt of a job that states its own kinetics, in ln of the rate."""

CLOCK_SD = float(np.hypot(SD * np.hypot(SHARED_RATE_SD, INDUCTION_SD), CLOCK_MODEL_SD))


def arrays(bank: Population) -> dict[str, Array]:
    every = {**fields(bank), **fields(bank.kinetics)}
    return {name: value for name, value in every.items() if isinstance(value, np.ndarray)}


def fields(record: object) -> dict[str, object]:
    assert dataclasses.is_dataclass(record)
    return {field.name: getattr(record, field.name) for field in dataclasses.fields(record)}


def test_two_banks_of_one_job_are_equal_to_the_last_bit() -> None:
    first, second = arrays(population_of(job_of())), arrays(population_of(job_of()))
    assert first.keys() == second.keys()
    assert all(np.array_equal(first[name], second[name]) for name in first)


def test_every_member_is_a_possible_batch() -> None:
    bank = population_of(job_of())
    assert all(len(values) == MEMBERS for values in arrays(bank).values())
    assert all(np.all(np.isfinite(values)) for values in arrays(bank).values())
    unsigned = {"order_m", "dying", "late", "limit_per_k"}
    assert all(
        np.all(values > 0.0) for name, values in arrays(bank).items() if name not in unsigned
    )
    assert LOOSE_FROM <= bank.bead.min() <= bank.bead.max() <= 1.0


def test_every_fourth_member_dies_on_the_way_and_weighs_little_before_anything_is_seen() -> None:
    bank = population_of(job_of())
    weight = np.exp(bank.log_prior())
    assert float(np.mean(bank.dying)) == pytest.approx(1.0 / DYING_EVERY, abs=1e-3)
    chance = float(np.sum(weight[bank.dying]) / np.sum(weight))
    assert chance == pytest.approx(DYING_CHANCE, abs=1e-3)
    ends_at = bank.kinetics.limit_at_20c[bank.dying]
    assert float(np.max(ends_at)) < float(np.min(bank.kinetics.limit_at_20c[~bank.dying])) + 0.05


def test_every_twelfth_member_is_too_slow_for_its_job_and_hardly_weighs() -> None:
    bank = population_of(job_of())
    weight = np.exp(bank.log_prior())
    assert float(np.mean(bank.late)) == pytest.approx(1.0 / LATE_EVERY, abs=1e-3)
    assert not np.any(bank.late & bank.dying)
    chance = float(np.sum(weight[bank.late]) / np.sum(weight))
    assert chance == pytest.approx(LATE_CHANCE, abs=1e-6)
    clock_s = 1.0 / bank.kinetics.induction_per_s
    usual_s, late_s = np.median(clock_s[bank.usual]), clock_s[bank.late]
    # From no slower than a slow can, through an old one, to one that nobody dosed.
    assert np.quantile(late_s, 0.1) < 3.0 * usual_s < np.median(late_s) < 8.0 * usual_s
    assert float(np.mean(late_s > 300.0 * usual_s)) == pytest.approx(NEVER_SHARE, abs=0.03)


def test_a_late_epoxy_is_slow_in_its_growth() -> None:
    bank = population_of(job_of(EPOXY))
    rate = bank.kinetics.rate_per_s
    assert np.median(rate[bank.late]) < np.median(rate[bank.usual]) / 3.0


@pytest.mark.parametrize(
    ("name", "centre", "sd"),
    [
        (
            "induction_per_s",
            1.0 / 2160.0,
            np.hypot(SD * np.hypot(SHARED_RATE_SD, INDUCTION_SD), CLOCK_MODEL_SD),
        ),
        ("rate_per_s", 1.0e-3, SD * np.hypot(SHARED_RATE_SD, GROWTH_SD)),
        ("seed", 0.03, SEED_SD),
        ("heat_j_per_m2", 360e3 * 1650.0 * 0.004 * 0.58, HEAT_SD),
        ("mould_j_per_m2k", 16e3, MOULD_SD),
        ("loss_top_w_per_m2k", 9.0, LOSS_SD),
        ("loss_back_w_per_m2k", 6.0, LOSS_SD),
    ],
)
def test_a_doubt_is_centred_on_the_job_and_as_wide_as_stated(
    name: str, centre: float, sd: float
) -> None:
    bank = population_of(job_of())
    log = np.log(arrays(bank)[name][bank.usual])
    assert float(np.mean(log)) == pytest.approx(np.log(centre), abs=0.04 * sd + 1e-9)
    assert float(np.std(log)) == pytest.approx(sd, rel=0.05)


def test_the_activation_energies_move_together_by_five_kilojoule() -> None:
    kinetics = population_of(job_of()).kinetics
    assert float(np.std(kinetics.rate_j_per_mol)) == pytest.approx(
        ACTIVATION_SD_J_PER_MOL, rel=0.05
    )
    assert kinetics.induction_j_per_mol - kinetics.rate_j_per_mol == pytest.approx(6000.0)


def test_an_old_can_is_slow_in_both_clock_and_growth() -> None:
    bank = population_of(job_of())
    clocks, rates = bank.kinetics.induction_per_s[bank.usual], bank.kinetics.rate_per_s[bank.usual]
    together = np.corrcoef(np.log(clocks), np.log(rates))[0, 1]
    shared = SHARED_RATE_SD**2 / (CLOCK_SD / SD * np.hypot(SHARED_RATE_SD, GROWTH_SD))
    assert together == pytest.approx(shared, abs=0.05)


def test_more_initiator_shortens_the_clock_by_its_exponent() -> None:
    # (2.0 / 1.5)^0.8 and (2.0 / 1.5)^0.48, by hand.
    usual, more = population_of(job_of()).kinetics, population_of(job_of(percent=2.0)).kinetics
    assert more.induction_per_s / usual.induction_per_s == pytest.approx(1.258783, rel=1e-6)
    assert more.rate_per_s / usual.rate_per_s == pytest.approx(1.148076, rel=1e-6)


def test_an_epoxy_has_no_inhibitor_to_burn_away() -> None:
    assert np.all(np.isinf(population_of(job_of(EPOXY)).kinetics.induction_per_s))
