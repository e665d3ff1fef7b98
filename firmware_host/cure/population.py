"""The batches that a job description may mean: one fixed bank of possible resins and losses.

A job file holds nominal values; the real batch differs by a third in rate, by the age of the can,
by a tenth in dose, by a third in losses. Every member of the bank is one such batch. Which of them
are alive is decided by the temperatures that are measured. A fixed quasi-random bank beats a grid:
it covers ten doubts with two thousand members and never collapses to a corner.

Spreads are ours, from published gel tables (scatter of ln t_gel 0.35 to 0.45 for an unknown can)
and from handbook ranges of film coefficients; the job's own numbers are their centre.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from firmware_host.config.schema import JobDescription
from firmware_host.physics.kinetics import THROTTLE_OFFSET, THROTTLE_STEEPNESS, Kinetics
from firmware_host.physics.quasirandom import normal_points

Array = npt.NDArray[np.float64]

MEMBERS = 2304
DOUBTS = 12

SHARED_RATE_SD = 0.75
"""Share of the resin's ln-rate doubt that moves induction and growth together."""
INDUCTION_SD = 0.66
"""The age of the can moves the inhibitor, beyond what moves both: together the whole doubt."""
GROWTH_SD = 0.65
CLOCK_MODEL_SD = 0.20
"""The law itself is only nearly right, however well the can is known."""
ACTIVATION_SD_J_PER_MOL = 5000.0
LOSS_SD = 0.25
CONTACT_SD = 0.30
HEAT_SD = 0.06
"""How the heat of cure drives the resin on; how warm the part gets by it is integrated out."""
MOULD_SD = 0.20
SEED_SD = 0.30
LIMIT_SD = 0.03
ORDER_SD = 0.12
"""Of the order of what is left: other laws end more softly or more sharply."""
BEAD_MEAN, BEAD_SD = 0.90, 0.07
"""A bead under the film reads 0.75 to 1.0 of the rise (assumption, no source)."""
LOOSE_EVERY, LOOSE_FROM = 5, 0.3
"""Every fifth member has its best couple badly seated: it sees 0.3 of the rise, or more."""
DYING_EVERY = 4
"""Every fourth member is a batch whose initiator runs out on the way."""
DYING_CHANCE = 0.01
DYING_STEEPNESS = 200.0
"""A kick that nothing feeds any more stops within a hundredth of conversion, not at leisure."""
DIES_FROM, DIES_TO = 0.05, 0.55
"""Conversions between which it may run out."""
LATE_EVERY, LATE_CHANCE = 12, 0.005
"""Every twelfth member is what a job file does not mean: a can gone old, a dose halved or left out.
Without them nothing but a kick that hid itself would explain a part on which nothing happens."""
LATE_FROM, LATE_TO = 0.5, 2.5
"""By so much, in ln, its clock runs slower than the member's own draw."""
LATE_GROWTH = 0.4
"""Least share of that by which its growth is slower too."""
NEVER_SHARE, NEVER_LN = 0.15, 8.0
"""Of the late ones, so many do not gel in a month."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Population:
    """One array element per member. Heat figures are per m2 of laminate, the cup's per cup."""

    kinetics: Kinetics
    gel_conversion: float
    laminate_j_per_m2k: float
    mould_j_per_m2k: Array
    loss_top_w_per_m2k: Array
    loss_back_w_per_m2k: Array
    contact_w_per_m2k: Array
    heat_j_per_m2: Array
    bead: Array
    cup_j_per_k: float
    cup_loss_w_per_k: Array
    cup_heat_j: Array
    dying: npt.NDArray[np.bool_]
    """Members that stop well short of the end."""
    late: npt.NDArray[np.bool_]
    """Members far slower than the job file may mean."""

    @property
    def usual(self) -> npt.NDArray[np.bool_]:
        """Members that the job file may mean and that go to their end."""
        return np.asarray(~(self.dying | self.late))

    def log_prior(self) -> Array:
        """Weight of each member before anything was measured, as a logarithm."""
        each = (1.0 - DYING_CHANCE - LATE_CHANCE) / np.count_nonzero(self.usual)
        dying = DYING_CHANCE / np.count_nonzero(self.dying)
        late = LATE_CHANCE / np.count_nonzero(self.late)
        return np.where(
            self.dying, np.log(dying / each), np.where(self.late, np.log(late / each), 0.0)
        )


def population_of(job: JobDescription) -> Population:
    """Spread a job description over its doubts."""
    z = normal_points(MEMBERS, DOUBTS).T
    resin, laminate, cup = job.resin, job.laminate, job.cup
    heat = resin.heat_of_cure_kj_per_kg * 1000.0 * np.exp(HEAT_SD * z[4])
    resin_kg_per_m2 = (
        laminate.density_kg_per_m3 * laminate.thickness_mm / 1000.0 * laminate.resin_mass_fraction
    )
    loss = np.exp(LOSS_SD * z[3])
    cup_kg = (cup.resin_g if cup else 100.0) / 1000.0
    return Population(
        kinetics=_kinetics(job, z),
        gel_conversion=resin.gel_conversion,
        laminate_j_per_m2k=laminate.density_kg_per_m3
        * laminate.thickness_mm
        / 1000.0
        * laminate.specific_heat_j_per_kgk,
        mould_j_per_m2k=laminate.mould_heat_kj_per_m2k * 1000.0 * np.exp(MOULD_SD * z[5]),
        loss_top_w_per_m2k=laminate.loss_top_w_per_m2k * loss,
        loss_back_w_per_m2k=laminate.loss_back_w_per_m2k * loss,
        contact_w_per_m2k=laminate.contact_w_per_m2k * np.exp(CONTACT_SD * z[6]),
        heat_j_per_m2=heat * resin_kg_per_m2,
        bead=_beads(z[11]),
        cup_j_per_k=cup_kg * (cup.specific_heat_j_per_kgk if cup else 1800.0),
        cup_loss_w_per_k=(cup.loss_w_per_k if cup else 0.2) * loss,
        cup_heat_j=heat * cup_kg,
        dying=_dying(),
        late=_late(),
    )


def _kinetics(job: JobDescription, z: Array) -> Kinetics:
    resin = job.resin
    sd = resin.ln_rate_sd
    dose = _dose_ratio(job)
    shared = SHARED_RATE_SD * sd * z[0]
    growth = resin.rate_at_25c_per_s * dose**resin.rate_initiator_exponent
    own_sd = np.hypot(INDUCTION_SD * sd, CLOCK_MODEL_SD)
    dying = _dying()
    slower, slower_growth = _slower(inhibited=math.isfinite(_induction(job, dose)))
    dies_at = DIES_FROM + (DIES_TO - DIES_FROM) * np.linspace(0.0, 1.0, MEMBERS)[_order(z[9])]
    return Kinetics(
        induction_per_s=_induction(job, dose) * np.exp(shared + own_sd * z[1] - slower),
        induction_j_per_mol=resin.induction_activation_kj_per_mol * 1000.0
        + ACTIVATION_SD_J_PER_MOL * z[7],
        rate_per_s=growth * np.exp(shared + GROWTH_SD * sd * z[2] - slower_growth),
        rate_j_per_mol=resin.rate_activation_kj_per_mol * 1000.0 + ACTIVATION_SD_J_PER_MOL * z[7],
        seed=resin.seed_fraction * np.exp(SEED_SD * z[8]),
        order_m=np.full(MEMBERS, resin.order_m),
        order_n=resin.order_n * np.exp(ORDER_SD * z[10]),
        limit_at_20c=np.where(
            dying, dies_at + THROTTLE_OFFSET, resin.conversion_limit_at_20c + LIMIT_SD * z[9]
        ),
        limit_per_k=np.where(dying, 0.0, resin.conversion_limit_per_k),
        steepness=np.where(dying, DYING_STEEPNESS, THROTTLE_STEEPNESS),
    )


def _dying() -> npt.NDArray[np.bool_]:
    return np.asarray(np.arange(MEMBERS) % DYING_EVERY == DYING_EVERY - 1)


def _late() -> npt.NDArray[np.bool_]:
    return np.asarray(np.arange(MEMBERS) % LATE_EVERY == 1)


def _slower(*, inhibited: bool) -> tuple[Array, Array]:
    """By how much, in ln, clock and growth of each member are slower than the job file may mean."""
    place = np.arange(MEMBERS) // LATE_EVERY
    share, growth = (0.5 + place * 0.6180339887) % 1.0, (0.5 + place * 0.7548776662) % 1.0
    often = 1.0 - NEVER_SHARE
    by = np.where(share < often, LATE_FROM + (LATE_TO - LATE_FROM) * share / often, NEVER_LN)
    by = np.where(_late(), by, 0.0)
    return by, by * (LATE_GROWTH + (1.0 - LATE_GROWTH) * growth if inhibited else 1.0)


def _beads(z: Array) -> Array:
    loose = np.arange(MEMBERS) % LOOSE_EVERY == 0
    share = _order(z) / (MEMBERS - 1)
    return np.where(
        loose, LOOSE_FROM + (1.0 - LOOSE_FROM) * share, np.clip(BEAD_MEAN + BEAD_SD * z, 0.7, 1.0)
    )


def _order(values: Array) -> npt.NDArray[np.intp]:
    """Rank of each value, from 0."""
    return np.argsort(np.argsort(values))


def _dose_ratio(job: JobDescription) -> float:
    reference = job.resin.initiator_reference_percent
    if reference <= 0.0 or job.job.initiator_percent <= 0.0:
        return 1.0
    return job.job.initiator_percent / reference


def _induction(job: JobDescription, dose: float) -> float:
    """1 / t_ind at 25 degC; infinite for a resin without an inhibitor."""
    resin = job.resin
    inhibited = resin.initiator_reference_percent > 0.0 and resin.induction_min_at_25c > 0.0
    if not inhibited:
        return float("inf")
    return float(dose**resin.induction_initiator_exponent) / (resin.induction_min_at_25c * 60.0)
