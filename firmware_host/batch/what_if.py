"""Dose against temperature, so that a person sees how steep the cliff is. Pure."""

from __future__ import annotations

from dataclasses import dataclass

from firmware_host.batch.plan import Plan
from firmware_host.batch.work_window import Window

TEMPERATURE_STEPS_K = (-6.0, -3.0, 0.0, 3.0, 6.0)
DOSES = 5


@dataclass(frozen=True, slots=True, kw_only=True)
class Cell:
    """One window of the table."""

    window: Window
    fits: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class WhatIf:
    """Rows of doses, columns of temperatures."""

    temps_c: tuple[float, ...]
    doses: tuple[float, ...]
    """One dose of 0 for a resin without initiator."""
    rows: tuple[tuple[Cell, ...], ...]


def what_if(plan: Plan) -> WhatIf:
    """Lay the table around today's temperature, over the doses that may be mixed."""
    task = plan.task
    temps = tuple(round(task.temp_c + step) for step in TEMPERATURE_STEPS_K)
    temps_c = tuple(float(temp) for temp in temps)
    limits = task.limits
    doses: tuple[float, ...] = (0.0,)
    if task.has_dose:
        stride = (limits.highest - limits.lowest) / (DOSES - 1)
        doses = tuple(limits.lowest + i * stride for i in range(DOSES))
    rows = tuple(tuple(_cell(plan, temp_c, dose) for temp_c in temps_c) for dose in doses)
    return WhatIf(temps_c=temps_c, doses=doses, rows=rows)


def _cell(plan: Plan, temp_c: float, dose: float) -> Cell:
    window = plan.task.at(temp_c, dose)
    return Cell(window=window, fits=plan.task.work_min <= window.sealed_by_min)
