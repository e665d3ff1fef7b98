"""The dose as it was poured, from what a person said with the mark `dosed`. Pure.

Anything that is no amount with its unit is a note, not a dose.
"""

from __future__ import annotations

from firmware_host.batch.dose import percent_of_drops
from firmware_host.batch.plan import batch_of
from firmware_host.config.plan_tables import Dropper
from firmware_host.config.schema import JobDescription
from firmware_host.model.dose_words import DoseUnit, said_dose

LARGEST_PERCENT = 10.0


def poured_percent(note: str, resin_g: float, dropper: Dropper | None) -> float | None:
    """Give initiator per 100 of resin; None where the note does not tell.

    >>> poured_percent("2.9 g", 193.33, None)
    1.5
    >>> poured_percent("as always", 193.33, None)
    """
    said = said_dose(note)
    if said is None:
        return None
    amount, unit = said
    percent: float | None = amount
    if unit is DoseUnit.GRAM:
        percent = 100.0 * amount / resin_g
    elif unit is DoseUnit.DROP:
        percent = None if dropper is None else percent_of_drops(amount, dropper, resin_g)
    if percent is None or not 0.0 < percent <= LARGEST_PERCENT:
        return None
    return round(percent, 4)


def poured_into(job: JobDescription, note: str) -> float | None:
    """Give the dose of a job's cup as poured; None where the note or the resin knows none."""
    if not job.resin.has_initiator:
        return None
    return poured_percent(note, batch_of(job).resin_g, job.dropper)
