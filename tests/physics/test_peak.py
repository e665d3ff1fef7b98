"""The peak of the part, against a separate integration and against the bank."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from firmware_host.config.load import parse_job
from firmware_host.cure.foresee import fresh, run_ahead
from firmware_host.cure.population import population_of
from firmware_host.history.law import law_of
from firmware_host.physics.gel_time import GAS_CONSTANT_J_PER_MOLK, GelLaw
from firmware_host.physics.peak import Wall, peak_of

K20 = 293.15
K20_PER_S, ACTIVATION = 8e-4, 45_000.0
BARE = GelLaw(
    reference_percent=0.0,
    induction_min_at_25c=0.0,
    induction_j_per_mol=0.0,
    induction_exponent=0.0,
    rate_at_25c_per_s=K20_PER_S
    * math.exp(ACTIVATION / GAS_CONSTANT_J_PER_MOLK * (1.0 / K20 - 1.0 / 298.15)),
    rate_j_per_mol=ACTIVATION,
    rate_exponent=0.0,
    seed=0.0,
    order_m=0.8,
    order_n=1.2,
    gel_conversion=0.05,
    limit_at_20c=5.0,
    limit_per_k=0.0,
)
"""k20 8e-4 /s, E 45 kJ/mol, alpha^0.8 (1 - alpha)^1.2, no diffusion limit."""
ONE_NODE = Wall(
    laminate_j_per_m2k=20e3,
    form_j_per_m2k=1e-6,
    loss_top_w_per_m2k=13.0,
    loss_back_w_per_m2k=0.0,
    contact_w_per_m2k=1e-9,
    heat_j_per_m2=2.52 * 280e3,
)


def test_one_node_comes_to_the_peak_of_a_separate_integration() -> None:
    """scipy's solve_ivp at 1e-12, run apart: 33.507047 C after 3443.06 s, from alpha 0.02."""
    peak = peak_of(BARE, 1.0, ONE_NODE, (K20, K20), K20, conversion=0.02)
    assert peak.temp_k - 273.15 == pytest.approx(33.507, abs=0.25)
    assert peak.at_s == pytest.approx(3443.0, abs=60.0)


def test_without_losses_all_heat_stays_in_the_part() -> None:
    """Adiabatic rise, H m (1 - 0.02) / C."""
    shut = replace(ONE_NODE, loss_top_w_per_m2k=0.0)
    peak = peak_of(BARE, 1.0, shut, (K20, K20), K20, conversion=0.02)
    assert peak.temp_k - K20 == pytest.approx(2.52 * 280e3 * 0.98 / 20e3, rel=2e-3)


def test_the_plans_single_batch_is_the_banks_middle_one() -> None:
    job = parse_job('[job]\npart = "x"\n[resin]\nfamily = "polyester"\n', "job.toml")
    laminate = job.laminate
    kg_per_m2 = laminate.density_kg_per_m3 * laminate.thickness_mm / 1000.0
    wall = Wall(
        laminate_j_per_m2k=kg_per_m2 * laminate.specific_heat_j_per_kgk,
        form_j_per_m2k=laminate.mould_heat_kj_per_m2k * 1000.0,
        loss_top_w_per_m2k=laminate.loss_top_w_per_m2k,
        loss_back_w_per_m2k=laminate.loss_back_w_per_m2k,
        contact_w_per_m2k=laminate.contact_w_per_m2k,
        heat_j_per_m2=kg_per_m2
        * laminate.resin_mass_fraction
        * job.resin.heat_of_cure_kj_per_kg
        * 1000.0,
    )
    bank = population_of(job)
    ahead = run_ahead(fresh(bank, K20), K20, 4.0 * 3600.0)
    middle = float(np.median(np.max(ahead.laminate_k, axis=0)[bank.usual]))
    peak = peak_of(law_of(job.resin), 1.5, wall, (K20, K20), K20)
    assert peak.temp_k == pytest.approx(middle, abs=1.5)


def test_nothing_that_heats_peaks_where_it_started() -> None:
    cold = replace(ONE_NODE, heat_j_per_m2=0.0)
    assert peak_of(BARE, 1.0, cold, (K20, K20), K20, conversion=0.02).temp_k == pytest.approx(K20)
