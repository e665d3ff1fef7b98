"""What was learnt, handed to the cure's followers."""

from __future__ import annotations

import math

import numpy as np
import pytest

from firmware_host.config.load import parse_job
from firmware_host.cure.population import population_of
from firmware_host.history.law import law_of
from firmware_host.history.prior import LEAST_LN_SD, RatePrior, with_prior
from firmware_host.physics.kinetics import advance, at_mixing

JOB = parse_job('[job]\npart = "hatch"\n[resin]\nfamily = "polyester"\n', "job.toml")


def prior(shift: float, sd: float) -> RatePrior:
    return RatePrior(ln_time_shift=shift, ln_sd=sd, source="jobs")


def test_a_shop_that_is_slower_by_half_gels_half_as_late_again_at_any_temperature() -> None:
    later = with_prior(JOB, prior(math.log(1.5), 0.2))
    for temp_k in (285.0, 293.0, 301.0):
        before = law_of(JOB.resin).gel_min(temp_k, 1.5)
        assert law_of(later.resin).gel_min(temp_k, 1.5) == pytest.approx(1.5 * before)
    assert later.resin.ln_rate_sd == 0.2


def test_nothing_learnt_leaves_the_job_as_it_is() -> None:
    assert with_prior(JOB, None) is JOB


def test_no_number_of_jobs_makes_the_law_better_than_it_is() -> None:
    assert with_prior(JOB, prior(0.0, 0.01)).resin.ln_rate_sd == LEAST_LN_SD


def test_the_population_starts_round_what_was_learnt_and_narrower() -> None:
    """Share of the usual members that have begun to grow after the learnt gel time: about half."""
    shares, widths = [], []
    for job in (JOB, with_prior(JOB, prior(math.log(2.0), 0.15))):
        gel_s = 60.0 * law_of(job.resin).gel_min(293.15, 1.5)
        population = population_of(job)
        progress = at_mixing(population.kinetics)
        for _ in range(60):
            progress = advance(population.kinetics, progress, 293.15, 293.15, gel_s / 60.0)
        gelled = progress.conversion >= job.resin.gel_conversion
        shares.append(float(np.mean(gelled[population.usual])))
        widths.append(float(np.std(np.log(population.kinetics.rate_per_s[population.usual]))))
    assert shares == pytest.approx([0.5, 0.5], abs=0.06)
    assert widths[1] < 0.5 * widths[0]
