"""The gel law of a job description: the resin's numbers, set by the maker's sheet where given.

Pure.
"""

from __future__ import annotations

import dataclasses
import math

from firmware_host.config.schema import JobDescription, Resin
from firmware_host.physics.gel_time import GelLaw, steady_equivalent_k
from hardware.units import ZERO_CELSIUS_K

SHEET_LN_RATE_SD = 0.30
"""A sheet names the resin; season, age, dose and a degree of temperature stay (0.25, 0.1, 0.08)."""


@dataclasses.dataclass(frozen=True, slots=True, kw_only=True)
class Prior:
    """Law and doubt before this shop has said anything."""

    law: GelLaw
    ln_rate_sd: float
    from_sheet: bool


def prior_of(job: JobDescription) -> Prior:
    """Give the law of the resin, scaled to the sheet's gel time where it prints one."""
    law = law_of(job.resin)
    sheet = job.sheet
    if sheet is None or sheet.gel_min is None or sheet.gel_at_c is None:
        return Prior(law=law, ln_rate_sd=job.resin.ln_rate_sd, from_sheet=False)
    dose = sheet.gel_at_percent or job.resin.initiator_reference_percent
    printed_min = law.gel_min(sheet.gel_at_c + ZERO_CELSIUS_K, dose)
    scaled = dataclasses.replace(law, scale=law.scale * sheet.gel_min / printed_min)
    sd = min(SHEET_LN_RATE_SD, job.resin.ln_rate_sd)
    return Prior(law=scaled, ln_rate_sd=sd, from_sheet=True)


def steady_equivalent_c(
    job: JobDescription, *, shop_c: float, resin_c: float, form_c: float, dose: float
) -> float:
    """Give the steady temperature at which the part would gel just as late, degC.

    Laminate and form share their heat at once, then go to the shop's air with the time constant of
    their heat over the losses of both faces.
    """
    law, laminate = prior_of(job).law, job.laminate
    wet = laminate.density_kg_per_m3 * laminate.thickness_mm / 1000.0
    wet_j_per_m2k = wet * laminate.specific_heat_j_per_kgk
    form_j_per_m2k = laminate.mould_heat_kj_per_m2k * 1000.0
    whole = wet_j_per_m2k + form_j_per_m2k
    start_c = (wet_j_per_m2k * resin_c + form_j_per_m2k * form_c) / whole
    if abs(start_c - shop_c) < 1e-6:
        return shop_c
    tau_min = whole / (laminate.loss_top_w_per_m2k + laminate.loss_back_w_per_m2k) / 60.0
    start_k, end_k = start_c + ZERO_CELSIUS_K, shop_c + ZERO_CELSIUS_K
    gel_min = law.gel_min_while_drifting(start_k, end_k, tau_min, dose)
    if not math.isfinite(gel_min):
        return shop_c
    return steady_equivalent_k(law, gel_min, dose) - ZERO_CELSIUS_K


def law_of(resin: Resin) -> GelLaw:
    """Give the law of a resin as its file states it."""
    return GelLaw(
        reference_percent=resin.initiator_reference_percent,
        induction_min_at_25c=resin.induction_min_at_25c,
        induction_j_per_mol=resin.induction_activation_kj_per_mol * 1000.0,
        induction_exponent=resin.induction_initiator_exponent,
        rate_at_25c_per_s=resin.rate_at_25c_per_s,
        rate_j_per_mol=resin.rate_activation_kj_per_mol * 1000.0,
        rate_exponent=resin.rate_initiator_exponent,
        seed=resin.seed_fraction,
        order_m=resin.order_m,
        order_n=resin.order_n,
        gel_conversion=resin.gel_conversion,
        limit_at_20c=resin.conversion_limit_at_20c,
        limit_per_k=resin.conversion_limit_per_k,
    )
