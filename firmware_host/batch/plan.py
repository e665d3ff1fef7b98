"""The plan of one pour: what to weigh, how long it lasts, whether to mix. Pure: values in, out.

Sure things first: masses and drops are arithmetic; the window is a forecast and carries its source.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from firmware_host.batch.amine import PotLife, pot_life, pot_reasons
from firmware_host.batch.checks import (
    Measured,
    cold_limit_c,
    cup_reasons,
    dose_limits,
    dose_reasons,
    lot_reasons,
    pressure_reasons,
    ratio_reasons,
    temperature_reasons,
    vacuum_reasons,
)
from firmware_host.batch.dose import (
    DROP_RANGE_G,
    MOST_DROPS,
    Drops,
    drop_g,
    drops_for,
    percent_of_drops,
)
from firmware_host.batch.outlook import outlook_of
from firmware_host.batch.part_peak import PartPeak, part_peak, peak_reasons
from firmware_host.batch.reasons import Reason, Weight, answered
from firmware_host.batch.resin_need import (
    ResinNeed,
    areal_kg_per_m2,
    need_of_laminate,
    need_of_plies,
    resin_fraction_of_thickness,
    resin_fraction_of_volume,
)
from firmware_host.batch.time_reasons import Task, time_reasons
from firmware_host.batch.work_window import Outlook, Window
from firmware_host.config.plan_tables import Target
from firmware_host.config.schema import Family, JobDescription
from firmware_host.history.law import steady_equivalent_c
from firmware_host.history.outcomes import Outcome
from firmware_host.history.resin import resin_lot


@dataclass(frozen=True, slots=True, kw_only=True)
class Batch:
    """What goes into the cup."""

    need: ResinNeed
    resin_g: float
    """Without hardener."""
    hardener_g: float | None
    """Two-part epoxy only, and only where the ratio is known."""
    initiator_percent: float
    initiator_g: float
    initiator_ml: float
    drops: Drops | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """One pour, judged."""

    job: JobDescription
    measured: Measured
    today: date
    batch: Batch
    outlook: Outlook
    task: Task
    deepest_vacuum_kpa: float
    peak: PartPeak
    pot: PotLife | None
    """Two-part epoxy only."""
    reasons: tuple[Reason, ...]

    @property
    def window(self) -> Window:
        """When it gels."""
        return self.task.window

    @property
    def fit_to_mix(self) -> bool:
        """Whether nothing stands against it."""
        return not any(reason.stands for reason in self.reasons)


def plan_of(job: JobDescription, measured: Measured, past: Sequence[Outcome], today: date) -> Plan:
    """Plan a pour from the job description, what was measured, and what past jobs say."""
    batch = batch_of(job)
    outlook = outlook_of(job, past, today)
    task = _task(job, measured, outlook, batch.initiator_percent)
    deepest_kpa = (measured.station_pressure_hpa - job.pump.ultimate_mbar) / 10.0
    found = [*_reasons(job, measured, batch, today), *vacuum_reasons(deepest_kpa, job.form)]
    found += time_reasons(task)
    peak = part_peak(job, measured, batch.need, task)
    found += peak_reasons(peak)
    pot = pot_life(job, measured, batch.need.mixed_g, task)
    found += pot_reasons(pot, task.work_min)
    return Plan(
        job=job,
        measured=measured,
        today=today,
        batch=batch,
        outlook=outlook,
        task=task,
        deepest_vacuum_kpa=deepest_kpa,
        peak=peak,
        pot=pot,
        reasons=tuple(answered(reason, job.overrides) for reason in found),
    )


def batch_of(job: JobDescription) -> Batch:
    """Weigh out a job."""
    need = _need(job)
    resin_g, hardener_g = need.mixed_g, None
    if job.resin.family is Family.EPOXY and job.resin.hardener_parts_per_100 is not None:
        parts = job.resin.hardener_parts_per_100
        resin_g = need.mixed_g * 100.0 / (100.0 + parts)
        hardener_g = need.mixed_g - resin_g
    percent = _percent(job, resin_g)
    initiator_g = resin_g * percent / 100.0
    return Batch(
        need=need,
        resin_g=resin_g,
        hardener_g=hardener_g,
        initiator_percent=percent,
        initiator_g=initiator_g,
        initiator_ml=initiator_g / job.initiator.density_g_per_ml,
        drops=drops_for(initiator_g, job.dropper) if job.resin.has_initiator else None,
    )


def _percent(job: JobDescription, resin_g: float) -> float:
    """Percent as stated, or as so many drops of the weighed dropper make it."""
    if not job.resin.has_initiator:
        return 0.0
    if job.dropper is not None and job.dropper.drops is not None:
        counted = percent_of_drops(job.dropper.drops, job.dropper, resin_g)
        if counted is not None:
            return counted
    return job.job.initiator_percent


def _need(job: JobDescription) -> ResinNeed:
    target = job.target or Target()
    fraction = _resin_fraction(job, target)
    if job.plies:
        return need_of_plies(job.plies, target, fraction)
    laminate = job.laminate
    return need_of_laminate(
        laminate.area_m2, laminate.thickness_mm, laminate.density_kg_per_m3, target, fraction
    )


def _resin_fraction(job: JobDescription, target: Target) -> float:
    """Give the resin's part of the mass, in whichever way the target was stated."""
    if target.thickness_mm is not None and job.plies:
        return resin_fraction_of_thickness(areal_kg_per_m2(job.plies), target.thickness_mm)
    if target.fibre_volume_fraction is not None:
        return resin_fraction_of_volume(target.fibre_volume_fraction)
    if job.target is None and "laminate.resin_mass_fraction" not in job.assumed:
        return job.laminate.resin_mass_fraction
    return target.resin_mass_fraction


def _task(job: JobDescription, measured: Measured, outlook: Outlook, dose: float) -> Task:
    temp_c = steady_equivalent_c(
        job,
        shop_c=measured.shop_c,
        resin_c=measured.resin_c,
        form_c=measured.form_c,
        dose=dose,
    )
    return Task(
        window=outlook.window(temp_c, dose),
        at=outlook.window,
        temp_c=temp_c,
        dose_percent=dose,
        work_min=job.job.honest_min,
        latest_gel_min=job.limits.latest_gel_min,
        limits=dose_limits(job.sheet),
        cold_c=cold_limit_c(job.sheet),
        two_cups=job.two_cups,
        has_dose=job.resin.has_initiator,
    )


def _reasons(job: JobDescription, measured: Measured, batch: Batch, today: date) -> list[Reason]:
    is_epoxy = job.resin.family is Family.EPOXY
    found = temperature_reasons(measured, job.sheet)
    if job.resin.has_initiator:
        found += dose_reasons(batch.initiator_percent, job.sheet)
    if is_epoxy:
        found += ratio_reasons(job.resin.hardener_parts_per_100, job.sheet)
    found += lot_reasons(job.lots, job.cup_tests, today, is_epoxy=is_epoxy)
    found += pressure_reasons(measured) + cup_reasons(batch.need.mixed_g)
    return found + _drop_reasons(job, batch)


def _drop_reasons(job: JobDescription, batch: Batch) -> list[Reason]:
    drops, dropper = batch.drops, job.dropper
    if drops is None:
        return []
    found = []
    if dropper is not None and dropper.drops is not None and drop_g(dropper) is None:
        low, high = (100.0 * dropper.drops * g / batch.resin_g for g in DROP_RANGE_G)
        text = (
            f"{dropper.drops} drops of a dropper that was never weighed are {low:.1f} to "
            f"{high:.1f} %. Weigh 20 drops, or weigh the dose: {batch.initiator_g:.2f} g."
        )
        found.append(Reason(name="drops_unweighed", text=text))
    if drops.too_many:
        said = f"{drops.count} drops" if drops.count else f"over {MOST_DROPS} drops"
        text = f"{said} are more than anybody counts right: weigh it, {batch.initiator_g:.2f} g."
        found.append(Reason(name="weigh_it", text=text, weight=Weight.NOTICE))
    return found


def lot_of(plan: Plan) -> str:
    """Lot of the resin that is planned."""
    return resin_lot(plan.job)
