"""The plan as it stands when a watch begins: the sheet for the record, the start for the cure.

Only what was learnt before is used; folders are read by `plan` and `jobs`, where a person waits,
and by a watch once its job is over, never at a pour.
"""

from __future__ import annotations

import logging
import math
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from firmware_host.batch.checks import Measured
from firmware_host.batch.outlook import outlook_of
from firmware_host.batch.plan import batch_of, plan_of
from firmware_host.batch.sheet import sheet_of
from firmware_host.batch.work_window import WindowSource
from firmware_host.config.schema import JobDescription
from firmware_host.errors import MonitorError
from firmware_host.history.law import law_of
from firmware_host.history.learn import forecast
from firmware_host.history.outcomes import Outcome
from firmware_host.history.prior import RatePrior
from firmware_host.outputs.past_jobs import keep_outcomes, kept_outcomes
from hardware.units import ZERO_CELSIUS_K

MOST_LN_SHIFT = 3.0
"""A factor of twenty; beyond it the job file, or the cup, is wrong."""
UNREADABLE = (MonitorError, OSError, ValueError, ArithmeticError)
"""What a folder or a line that somebody changed by hand can come to."""
_LOG = logging.getLogger(__name__)
USUAL_C = 20.0
"""Where nobody measured: the shift of a resin hardly depends on it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Planned:
    """What a record is begun with."""

    sheet: str
    """Empty where a condition was not measured."""
    learnt: RatePrior | None


def plan_at_start(job: JobDescription, base: Path, today: date) -> Planned:
    """Plan from what was learnt; nothing in past folders keeps a job from being watched."""
    try:
        return planned_for(job, base, today)
    except UNREADABLE as error:
        _LOG.warning("what past jobs in %s taught is left out: %s", base, error)
        return Planned(sheet="", learnt=None)


def note_what_it_taught(folder: Path) -> None:
    """Keep what a job that is over taught, now that a person no longer waits."""
    try:
        keep_outcomes(folder)
    except UNREADABLE as error:
        _LOG.warning("%s teaches the next job nothing: %s", folder, error)


def planned_for(job: JobDescription, base: Path, today: date) -> Planned:
    """Plan from the job file and from what was learnt of the job folders in `base`."""
    past = kept_outcomes(base)
    given = job.conditions
    learnt = rate_prior(job, past, today)
    if None in (given.shop_c, given.resin_c, given.form_c, given.station_pressure_hpa):
        return Planned(sheet="", learnt=learnt)
    measured = Measured(
        shop_c=given.shop_c or 0.0,
        resin_c=given.resin_c or 0.0,
        form_c=given.form_c or 0.0,
        station_pressure_hpa=given.station_pressure_hpa or 0.0,
        altitude_m=given.altitude_m,
    )
    return Planned(sheet=sheet_of(plan_of(job, measured, past, today)), learnt=learnt)


def rate_prior(job: JobDescription, past: tuple[Outcome, ...], today: date) -> RatePrior | None:
    """Give the shift and spread of this resin; None where only the shipped preset is known."""
    outlook = outlook_of(job, past, today)
    if outlook.source is WindowSource.PRESET:
        return None
    given = job.conditions
    temps = [one for one in (given.form_c, given.resin_c, given.shop_c) if one is not None]
    temp_k = (sum(temps) / len(temps) if temps else USUAL_C) + ZERO_CELSIUS_K
    dose = batch_of(job).initiator_percent
    told = forecast(outlook.known, temp_k, dose, outlook.lot)
    written_min = law_of(job.resin).gel_min(temp_k, dose)
    shift = told.mean - math.log(written_min)
    return RatePrior(
        ln_time_shift=round(min(max(shift, -MOST_LN_SHIFT), MOST_LN_SHIFT), 6),
        ln_sd=round(told.sd, 6),
        source=outlook.source.value,
    )
