"""What only a two-part epoxy asks of a plan: how long the cup lasts, where the cure ends. Pure.

An amine warms its own cup, and mass shortens its pot life strongly: the mix as it stands in one cup
is let react in today's room,

    m c dT/dt = m H d(alpha)/dt - U (m / 180 g)^(2/3) (T - T_shop)

with the loss of the job's cup at its own mass. The maker's pot life is stated for a mass and wins.
A part in a room ends where glass overtakes it; what brings the rest is a step of warmth.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from firmware_host.batch.checks import Measured
from firmware_host.batch.post_cure import GLASS, limit_at, step_words, target_conversion
from firmware_host.batch.reasons import Reason, Weight
from firmware_host.batch.time_reasons import Task
from firmware_host.config.schema import Cup, Family, JobDescription
from firmware_host.history.law import law_of
from firmware_host.physics.gel_time import GelLaw
from firmware_host.physics.peak import Wall, gels_after_s, peak_of
from hardware.units import ZERO_CELSIUS_K

CUP_G = 180.0
"""The cup that a job's loss is stated for, where it names none."""
SURFACE_POWER = 2.0 / 3.0
HOT_C = 100.0
"""A cup as hot as this smokes before long (common practice, no source)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PotLife:
    """The whole mix, left in one cup."""

    mixed_g: float
    gel_min: float
    low_min: float
    """2.5 % of it, as the window has it."""
    peak_c: float


def pot_life(job: JobDescription, measured: Measured, mixed_g: float, task: Task) -> PotLife | None:
    """Let the mix stand in one cup; None for a resin that is no two-part epoxy."""
    if job.resin.family is not Family.EPOXY:
        return None
    start_k, shop_k = (c + ZERO_CELSIUS_K for c in (measured.resin_c, measured.shop_c))
    wall, law = _cup(job, mixed_g), law_of(job.resin)

    def stretched(gel_min: float) -> GelLaw:
        stated_min = law.gel_min(task.temp_c + ZERO_CELSIUS_K, task.dose_percent)
        return replace(law, scale=law.scale * gel_min / stated_min)

    usual, early = (stretched(gel_min) for gel_min in (task.window.gel_min, task.window.low_min))
    both_k, dose = (start_k, shop_k), task.dose_percent
    return PotLife(
        mixed_g=mixed_g,
        gel_min=gels_after_s(usual, dose, wall, both_k, shop_k) / 60.0,
        low_min=gels_after_s(early, dose, wall, both_k, shop_k) / 60.0,
        peak_c=peak_of(usual, dose, wall, both_k, shop_k).temp_k - ZERO_CELSIUS_K,
    )


def pot_reasons(pot: PotLife | None, work_min: float) -> list[Reason]:
    """Name a cup that gels before the work is done, or that gets hot."""
    if pot is None:
        return []
    found = []
    if pot.gel_min < work_min:
        text = (
            f"{pot.mixed_g:.0f} g left in one cup gel after about {pot.gel_min:.0f} min, the work "
            f"takes {work_min:g}. Mix in two goes, or pour it out thin at once."
        )
        found.append(Reason(name="pot_life_short", text=text, weight=Weight.NOTICE))
    if pot.peak_c >= HOT_C:
        text = (
            f"{pot.mixed_g:.0f} g left in one cup may pass {HOT_C:.0f} C: it burns, smokes and "
            "cracks. Mix less at a time; tip left-overs out thin, outdoors, while they are cool."
        )
        found.append(Reason(name="cup_may_run_hot", text=text, weight=Weight.NOTICE))
    return found


def pot_words(pot: PotLife) -> str:
    """Say how long the cup lasts."""
    if math.isinf(pot.gel_min):
        return f"{pot.mixed_g:.0f} g left in one cup do not gel within a day"
    heat = f"pass {HOT_C:.0f} C" if pot.peak_c >= HOT_C else f"come to {pot.peak_c:.0f} C"
    return (
        f"{pot.mixed_g:.0f} g left in one cup gel after about {pot.gel_min:.0f} min "
        f"({pot.low_min:.0f} at the earliest) and {heat}; the maker's pot life, for its mass, wins"
    )


def end_words(job: JobDescription, shop_c: float) -> str:
    """Say where the room leaves the part, and which step brings what is asked for."""
    limit = limit_at(job.resin, shop_c)
    glass_c = GLASS[job.resin.family].transition_k(limit) - ZERO_CELSIUS_K
    here = f"this room leaves it at about {limit:.0%}, glass at {glass_c:.0f} C"
    target, wanted = target_conversion(job), job.post_cure
    if target is None or wanted is None:
        return f"{here}; [post_cure] asks for more"
    asked = f"{target:.0%}"
    if wanted.glass_transition_c is not None:
        asked += f" (glass at {wanted.glass_transition_c:g} C)"
    if limit > target:
        return f"{here}: {asked} comes by itself"
    return f"{here}; for {asked}: {step_words(job, wanted, limit, target)}"


def _cup(job: JobDescription, mixed_g: float) -> Wall:
    """One cup, where a laminate has a square metre; no form."""
    cup = job.cup or Cup()
    stated_g = job.cup.resin_g if job.cup else CUP_G
    kg = mixed_g / 1000.0
    return Wall(
        laminate_j_per_m2k=kg * cup.specific_heat_j_per_kgk,
        form_j_per_m2k=1.0,
        loss_top_w_per_m2k=cup.loss_w_per_k * (mixed_g / stated_g) ** SURFACE_POWER,
        loss_back_w_per_m2k=1.0,
        contact_w_per_m2k=1e-9,
        heat_j_per_m2=kg * job.resin.heat_of_cure_kj_per_kg * 1000.0,
    )
