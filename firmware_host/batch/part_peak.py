"""How hot the part gets at its kick, against what the form bears. Pure.

The law is stretched to the plan's window; each doubt is taken alone to its bad end, and what they
add is joined as independent: rate, losses, contact to the form, heat of cure, those of the bank.
"""

from __future__ import annotations

import dataclasses
import math
from dataclasses import dataclass

from firmware_host.batch.checks import Measured
from firmware_host.batch.reasons import Reason, Weight
from firmware_host.batch.resin_need import (
    CURED_RESIN_KG_PER_M3,
    GLASS_KG_PER_M3,
    ResinNeed,
)
from firmware_host.batch.time_reasons import Task
from firmware_host.config.schema import JobDescription
from firmware_host.history.law import law_of
from firmware_host.physics.gel_time import GelLaw
from firmware_host.physics.peak import Wall, peak_of
from hardware.units import ZERO_CELSIUS_K

LOSS_SD, CONTACT_SD, HEAT_SD = 0.25, 0.30, 0.12
"""As the bank of batches has them (`cure/population.py`, which the plan must not wait for)."""
ONE_SIDED_95 = 1.6448536269514722


@dataclass(frozen=True, slots=True, kw_only=True)
class PartPeak:
    """The laminate's hottest moment."""

    temp_c: float
    high_c: float
    """Not passed in 19 of 20."""
    limit_c: float
    whose: str
    stated: bool
    """Whether the limit was written down; else it is only our default."""


def part_peak(job: JobDescription, measured: Measured, need: ResinNeed, task: Task) -> PartPeak:
    """Let the part cure in today's room."""
    start_k = (measured.resin_c + ZERO_CELSIUS_K, measured.form_c + ZERO_CELSIUS_K)
    shop_k = measured.shop_c + ZERO_CELSIUS_K
    wall = _wall(job, need)

    def at(gel_min: float, wall: Wall) -> float:
        law = _stretched(law_of(job.resin), task, gel_min)
        return peak_of(law, task.dose_percent, wall, start_k, shop_k).temp_k - ZERO_CELSIUS_K

    middle = at(task.window.gel_min, wall)
    by_sd = ONE_SIDED_95 / 1.959963984540054
    early_min = task.window.gel_min * (task.window.low_min / task.window.gel_min) ** by_sd
    less = math.exp(-ONE_SIDED_95 * LOSS_SD)
    bad = (
        at(early_min, wall),
        at(task.window.gel_min, _scaled(wall, loss=less)),
        at(task.window.gel_min, _scaled(wall, contact=math.exp(-ONE_SIDED_95 * CONTACT_SD))),
        at(task.window.gel_min, _scaled(wall, heat=math.exp(ONE_SIDED_95 * HEAT_SD))),
    )
    more = math.sqrt(sum(max(one - middle, 0.0) ** 2 for one in bad))
    limit_c, whose, stated = _limit(job)
    return PartPeak(
        temp_c=middle, high_c=middle + more, limit_c=limit_c, whose=whose, stated=stated
    )


def peak_reasons(peak: PartPeak) -> list[Reason]:
    """Say when the form, or the job's own limit, may not bear it."""
    if peak.high_c <= peak.limit_c:
        return []
    above = peak.temp_c > peak.limit_c
    text = (
        f"the laminate {'comes' if above else 'may come'} to {peak.temp_c:.0f} C (up to "
        f"{peak.high_c:.0f}), {peak.whose} bears {peak.limit_c:g}. Lay it up in two goes, work "
        "cooler, or dose less."
    )
    weight = Weight.BLOCKS if above and peak.stated else Weight.NOTICE
    return [Reason(name="peak_hot", text=text, weight=weight)]


def _limit(job: JobDescription) -> tuple[float, str, bool]:
    """Give the lower of what form and job bear; the form's word where it has one."""
    own_c = job.limits.highest_temperature_c
    stated = "limits.highest_temperature_c" not in job.assumed
    form_c = job.form.highest_temperature_c if job.form is not None else None
    if form_c is None or (stated and own_c < form_c):
        return own_c, "the job" if stated else "the job, as assumed,", stated
    return form_c, "the form", True


def _wall(job: JobDescription, need: ResinNeed) -> Wall:
    laminate = job.laminate
    thickness_m, kg_per_m3 = laminate.thickness_mm / 1000.0, laminate.density_kg_per_m3
    fraction = laminate.resin_mass_fraction
    if need.thickness_mm is not None and "laminate.thickness_mm" in job.assumed:
        glass = need.fibre_volume_fraction
        thickness_m = need.thickness_mm / 1000.0
        kg_per_m3 = glass * GLASS_KG_PER_M3 + (1.0 - glass) * CURED_RESIN_KG_PER_M3
        fraction = (1.0 - glass) * CURED_RESIN_KG_PER_M3 / kg_per_m3
    kg_per_m2 = kg_per_m3 * thickness_m
    return Wall(
        laminate_j_per_m2k=kg_per_m2 * laminate.specific_heat_j_per_kgk,
        form_j_per_m2k=laminate.mould_heat_kj_per_m2k * 1000.0,
        loss_top_w_per_m2k=laminate.loss_top_w_per_m2k,
        loss_back_w_per_m2k=laminate.loss_back_w_per_m2k,
        contact_w_per_m2k=laminate.contact_w_per_m2k,
        heat_j_per_m2=kg_per_m2 * fraction * job.resin.heat_of_cure_kj_per_kg * 1000.0,
    )


def _scaled(wall: Wall, *, loss: float = 1.0, contact: float = 1.0, heat: float = 1.0) -> Wall:
    return dataclasses.replace(
        wall,
        loss_top_w_per_m2k=wall.loss_top_w_per_m2k * loss,
        loss_back_w_per_m2k=wall.loss_back_w_per_m2k * loss,
        contact_w_per_m2k=wall.contact_w_per_m2k * contact,
        heat_j_per_m2=wall.heat_j_per_m2 * heat,
    )


def _stretched(law: GelLaw, task: Task, gel_min: float) -> GelLaw:
    """Give the law that gels when the plan says, induction and growth stretched alike."""
    written_min = law.gel_min(task.temp_c + ZERO_CELSIUS_K, task.dose_percent)
    return dataclasses.replace(law, scale=law.scale * gel_min / written_min)
