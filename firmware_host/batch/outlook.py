"""What is known of today's resin: the law, then past jobs, then the cups of the job file.

Pure.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from firmware_host.batch.work_window import Outlook
from firmware_host.config.schema import JobDescription
from firmware_host.history.law import prior_of
from firmware_host.history.learn import Learnt, aged_until, in_order, learn, unlearnt, with_ratio
from firmware_host.history.outcomes import Kind, Outcome
from firmware_host.history.resin import cups_of, resin_key, resin_lot

TODAY = "today's can"
"""Lot of a can that nobody named."""


def outlook_of(job: JobDescription, past: Sequence[Outcome], today: date) -> Outlook:
    """Learn from what is there, oldest first; typed cups belong to today's can."""
    prior = prior_of(job)
    known = unlearnt(prior.law, prior.ln_rate_sd)
    if job.form is not None and job.form.shell_to_cup_ratio is not None:
        known = with_ratio(known, job.form.shell_to_cup_ratio)
    key, lot = resin_key(job), resin_lot(job) or TODAY
    mine = [one for one in past if one.resin == key and _usable(one, job)]
    everything = in_order([*mine, *cups_of(job, today, lot)])
    cups = [one for one in everything if one.kind is Kind.CUP]
    return Outlook(
        known=_learnt(known, everything, today),
        lot=lot,
        from_sheet=prior.from_sheet,
        work_seen=tuple(one.work_min for one in mine if one.work_min is not None),
        cups_seen=tuple(one for one in cups if one.lot == lot),
        shells_of_can=sum(one.lot == lot and one.kind is Kind.SHELL for one in everything),
    )


def _usable(one: Outcome, job: JobDescription) -> bool:
    """Tell whether an outcome says something; a dose of 0 starts no resin that needs one."""
    return one.teaches and (one.dose_percent > 0.0 or not job.resin.has_initiator)


def _learnt(known: Learnt, everything: Sequence[Outcome], today: date) -> Learnt:
    return aged_until(learn(known, everything), today)
