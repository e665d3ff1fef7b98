"""One change for the next pull, with its reason: from three jobs on, never two at once. Pure."""

from __future__ import annotations

from firmware_host.batch.plan import Plan
from firmware_host.batch.time_reasons import dose_words, proposed_dose
from firmware_host.batch.work_window import FEW_JOBS

LONG_WAIT = 2.0
"""A gate this many times the work means hours of waiting that more dose would save."""
SLOW_HANDS = 1.10


def advice(plan: Plan) -> str:
    """Say the one change that past jobs call for."""
    known, task = plan.outlook.known, plan.task
    if known.shells < FEW_JOBS:
        return f"{known.shells} of {FEW_JOBS} jobs with this resin: too few for advice."
    if plan.outlook.last_surprised:
        return "Do a cup test first: the last job fits nothing before it. Same can, same dose?"
    taken = plan.outlook.work_seen[-FEW_JOBS:]
    usual = sum(taken) / len(taken) if taken else task.work_min
    if usual > SLOW_HANDS * task.work_min:
        return f"Plan {usual:.0f} min of work: that is what the last {len(taken)} jobs took."
    found = proposed_dose(task)
    if found is not None and not task.fits:
        return f"Dose less: {dose_words(found)} leaves the {task.work_min:g} min of work."
    slow = plan.window.sealed_by_min > LONG_WAIT * task.work_min
    if found is not None and slow and found.high > task.dose_percent:
        return f"Dose more: {dose_words(found)} still leaves the work, and gels sooner."
    return "Change nothing: the last jobs went as this one is planned."
