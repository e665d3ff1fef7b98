"""What is missing to the conversion or glass transition that a job asks for, and what brings it.

    hours = integral of d(alpha) / [k (seed + alpha^m)(1 - alpha)^n f(alpha, T)]  from here to there

Pure, in plain arithmetic. A room-temperature cure stops where glass overtakes it: only warmth moves
it on. The hours are told for a batch as slow as one in twenty; the coolest step that gets there is
proposed, within what job, form and `[post_cure] highest_c` can bear. A hard part on a warm oven's
shelf may still sag: the maker's sheet says how fast to heat.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace
from types import MappingProxyType

from firmware_host.config.plan_tables import PostCure
from firmware_host.config.schema import Family, JobDescription, Resin
from firmware_host.history.law import law_of
from firmware_host.physics.glass import Glass
from hardware.units import ZERO_CELSIUS_K

GLASS: Mapping[Family, Glass] = MappingProxyType(
    {
        # From memory, all three; another hardener or resin differs by tens of kelvin.
        Family.POLYESTER: Glass(uncured_k=223.15, cured_k=378.15, bend=0.35),
        Family.VINYLESTER: Glass(uncured_k=218.15, cured_k=393.15, bend=0.35),
        Family.EPOXY: Glass(uncured_k=238.15, cured_k=358.15, bend=0.40),
    }
)
"""Glass transition of each family, uncured and cured."""
STEPS_C = (40.0, 50.0, 60.0, 70.0, 80.0, 90.0, 100.0)
NODES = 400
SLOW_SDS = 1.645
LONGEST_H = 24.0


def target_conversion(job: JobDescription) -> float | None:
    """Give the conversion that the job asks for; None where it asks for none."""
    wanted = job.post_cure
    if wanted is None:
        return None
    if wanted.glass_transition_c is not None:
        return GLASS[job.resin.family].conversion_at(wanted.glass_transition_c + ZERO_CELSIUS_K)
    return wanted.conversion


def hours_to(resin: Resin, start: float, target: float, temp_c: float) -> float | None:
    """Give hours from a conversion to another at a temperature; None where glass stops it before.

    For a batch as slow as one in twenty.
    """
    if target <= start:
        return 0.0
    temp_k = temp_c + ZERO_CELSIUS_K
    if target >= limit_at(resin, temp_c):
        return None
    law = replace(law_of(resin), scale=math.exp(SLOW_SDS * resin.ln_rate_sd))
    stride = (target - start) / NODES
    seconds = [
        stride / law.speed_per_s(start + stride * i, temp_k, resin.initiator_reference_percent)
        for i in range(NODES + 1)
    ]
    return (sum(seconds) - 0.5 * (seconds[0] + seconds[-1])) / 3600.0


def limit_at(resin: Resin, temp_c: float) -> float:
    """Give the conversion at which a resin practically stops at a temperature, at most 1."""
    return min(resin.conversion_limit_at_20c + resin.conversion_limit_per_k * (temp_c - 20.0), 1.0)


def hottest_borne_c(job: JobDescription) -> float:
    """Give what part and form can bear."""
    form_c = job.form.highest_temperature_c if job.form else None
    limit_c = job.limits.highest_temperature_c
    return limit_c if form_c is None else min(limit_c, form_c)


def schedule_words(job: JobDescription, low: float, room_k: float) -> str:
    """Say how far it is, and the step that brings the rest; empty where nothing is asked for.

    `low` is the low end of the conversion now.
    """
    target, wanted = target_conversion(job), job.post_cure
    if target is None or wanted is None:
        return ""
    glass_c = GLASS[job.resin.family].transition_k(low) - ZERO_CELSIUS_K
    here = f"at least {low:.0%} of {target:.0%}, glass at {glass_c:.0f} degC"
    if low >= target:
        return f"{here}: as asked for"
    room_h = hours_to(job.resin, low, target, room_k - ZERO_CELSIUS_K)
    if room_h is not None and room_h <= LONGEST_H:
        return f"{here}: {_hours(room_h)} more in this room"
    return f"{here}: {step_words(job, wanted, low, target)}"


def step_words(job: JobDescription, wanted: PostCure, low: float, target: float) -> str:
    """Name the coolest step within what job, form and sheet can bear."""
    most_c = min(wanted.highest_c, hottest_borne_c(job))
    for temp_c in STEPS_C:
        needed_h = hours_to(job.resin, low, target, temp_c) if temp_c <= most_c else None
        if needed_h is not None and needed_h <= LONGEST_H:
            return f"post-cure {_hours(needed_h)} at {temp_c:.0f} degC"
    return "no step that job and form can bear brings it"


def _hours(hours: float) -> str:
    return f"{max(math.ceil(hours * 2.0) / 2.0, 0.5):g} h"
