"""What is known of today's resin: the law, then past jobs, then the cups of the job file.

Pure.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date

from firmware_host.batch.law import prior_of, resin_key, resin_lot
from firmware_host.batch.work_window import Outlook
from firmware_host.config.schema import JobDescription
from firmware_host.history.learn import Learnt, aged_until, in_order, learn, unlearnt, with_ratio
from firmware_host.history.outcomes import Kind, Outcome
from hardware.units import ZERO_CELSIUS_K

TODAY = "today's can"
"""Lot of a can that nobody named."""


def outlook_of(job: JobDescription, past: Sequence[Outcome], today: date) -> Outlook:
    """Learn from what is there, oldest first; typed cups belong to today's can."""
    prior = prior_of(job)
    known = unlearnt(prior.law, prior.ln_rate_sd)
    if job.form is not None and job.form.shell_to_cup_ratio is not None:
        known = with_ratio(known, job.form.shell_to_cup_ratio)
    key, lot = resin_key(job), resin_lot(job) or TODAY
    mine = [one for one in past if one.resin == key and one.teaches]
    everything = in_order([*mine, *cups_of(job, today, lot)])
    cups = [one for one in everything if one.kind is Kind.CUP]
    return Outlook(
        known=_learnt(known, everything, today),
        lot=lot,
        from_sheet=prior.from_sheet,
        cups_seen=tuple(one for one in cups if one.lot == lot),
        shells_of_can=sum(one.lot == lot and one.kind is Kind.SHELL for one in everything),
    )


def _learnt(known: Learnt, everything: Sequence[Outcome], today: date) -> Learnt:
    return aged_until(learn(known, everything), today)


def cups_of(job: JobDescription, today: date, lot: str) -> Iterator[Outcome]:
    """Cup tests that the job file states; one without a date was done today."""
    key = resin_key(job)
    opened = next((one.opened for one in job.lots if one.lot == lot), None)
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
            opened=opened,
        )
