"""Which resin, which can: how the facts of past jobs are told apart. Pure."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from firmware_host.config.plan_tables import Lot
from firmware_host.config.schema import JobDescription
from firmware_host.history.outcomes import Kind, Outcome
from hardware.units import ZERO_CELSIUS_K


def resin_key(job: JobDescription) -> str:
    """Give the words by which past jobs of the same resin are found."""
    sheet = job.sheet.name if job.sheet is not None else ""
    return f"{job.resin.family.value}, {sheet}" if sheet else job.resin.family.value


def resin_can(job: JobDescription) -> Lot | None:
    """Give the can of resin; None where it was not noted."""
    return next((lot for lot in job.lots if "resin" in lot.what.casefold()), None)


def resin_lot(job: JobDescription) -> str:
    """Lot of the resin, empty where it was not noted."""
    can = resin_can(job)
    return "" if can is None else can.lot


def cups_of(job: JobDescription, today: date, lot: str) -> Iterator[Outcome]:
    """Cup tests that the job file states; one without a date was done that day.

    The name holds the facts, so that a test copied from job file to job file counts once.
    """
    key, can = resin_key(job), resin_can(job)
    for cup in job.cup_tests:
        on = cup.on or today
        dose = cup.initiator_percent or job.job.initiator_percent
        yield Outcome(
            job=f"cup {lot} {on} {cup.gel_min:g} min {cup.at_c:g} C {dose:g} %",
            part="cup test",
            on=on,
            kind=Kind.CUP,
            resin=key,
            lot=lot,
            dose_percent=dose,
            temp_k=cup.at_c + ZERO_CELSIUS_K,
            gel_min=cup.gel_min,
            opened=None if can is None else can.opened,
        )
