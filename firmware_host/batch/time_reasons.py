"""Whether the window leaves time to work, and comes soon enough; each with what would mend it.

Pure.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from firmware_host.batch.checks import DoseLimits
from firmware_host.batch.mend import (
    DoseRange,
    WindowAt,
    coolest_that_fits,
    dose_for,
    lowest_dose_by,
    warmest_needed,
)
from firmware_host.batch.reasons import Reason, Weight
from firmware_host.batch.work_window import Window
from firmware_host.config.plan_tables import TwoCups


@dataclass(frozen=True, slots=True, kw_only=True)
class Task:
    """A pour as it is planned."""

    window: Window
    at: WindowAt
    temp_c: float
    dose_percent: float
    work_min: float
    latest_gel_min: float | None
    limits: DoseLimits
    cold_c: float
    two_cups: TwoCups | None
    has_dose: bool

    @property
    def fits(self) -> bool:
        """Whether the bag can be closed in time."""
        return self.work_min <= self.window.sealed_by_min


def time_reasons(task: Task) -> list[Reason]:
    """Judge the window against the work and against the latest gel."""
    found = []
    if not task.window.proven:
        text = f"the window is {task.window.how_sure}. Do a cup test of today's can."
        found.append(Reason(name="window_unproven", text=text, weight=Weight.NOTICE))
    if not task.fits:
        found.append(Reason(name="time_short", text=_short(task), weight=Weight.FORBIDS))
    latest = task.latest_gel_min
    if latest is not None and task.window.gel_min > latest:
        found.append(Reason(name="gel_late", text=_late(task, latest)))
    return found


def _short(task: Task) -> str:
    said = (
        f"the work takes {task.work_min:g} min, the bag must be sealed by "
        f"{task.window.sealed_by_min:.1f} min."
    )
    mends = [mend for mend in (_by_dose(task), _by_cooling(task)) if mend]
    return " ".join([said, *mends, two_cups_words(task)])


def _by_dose(task: Task) -> str:
    if not task.has_dose:
        return ""
    found = proposed_dose(task)
    if found is None:
        return f"No dose from {task.limits.lowest:g} % up leaves that much."
    return f"{dose_words(found)} initiator leaves it."


def proposed_dose(task: Task) -> DoseRange | None:
    """Give the doses that fit the work; None where none does, or for a resin without a dose."""
    if not task.has_dose:
        return None
    return dose_for(task.work_min, task.at, task.temp_c, task.limits)


def dose_words(found: DoseRange) -> str:
    """Say a range of doses."""
    if found.low == found.high:
        return f"Up to {found.high:g} %"
    return f"{found.low:g} to {found.high:g} %"


def _by_cooling(task: Task) -> str:
    cool_c = coolest_that_fits(task.work_min, task.at, task.temp_c, task.dose_percent, task.cold_c)
    if cool_c is None or math.floor(cool_c) < task.cold_c:
        return f"Cooler resin alone does not help above {task.cold_c:g} C."
    return f"Resin, form and air at {math.floor(cool_c)} C would fit."


def two_cups_words(task: Task) -> str:
    """Judge two smaller cups by the same gates, and say so either way."""
    gate_min = task.window.sealed_by_min
    if task.two_cups is None:
        return (
            "Or two smaller cups, the second mixed when half is laid: write [two_cups] "
            "work_time_min, and the same gates judge it."
        )
    work_min = task.two_cups.work_time_min
    verdict = "fits" if work_min <= gate_min else "does not fit either"
    return (
        f"In two cups, second mixed at {0.5 * work_min:.0f} min and bag closed at {work_min:g} "
        f"against {gate_min:.1f} min: {verdict}."
    )


def _late(task: Task, latest_min: float) -> str:
    said = f"the gel is expected at {task.window.gel_min:.0f} min, latest {latest_min:g}."
    warm_c = warmest_needed(latest_min, task.at, task.temp_c, task.dose_percent)
    mends = []
    if warm_c is not None:
        mends.append(f"{max(math.ceil(warm_c), math.ceil(task.cold_c))} C all round would do.")
    if task.has_dose and (dose := _by_latest(task, latest_min)) is not None:
        mends.append(f"So would {dose:g} % initiator, and still leaves the work.")
    return " ".join([said, *mends, "A fresh can is the other way; never a second dose."])


def _by_latest(task: Task, latest_min: float) -> float | None:
    """Give a dose that is in time for the latest gel and still leaves the work."""
    dose = lowest_dose_by(latest_min, task.at, task.temp_c, task.limits)
    if dose is None or task.at(task.temp_c, dose).sealed_by_min < task.work_min:
        return None
    return dose
