"""What was learnt, as a start for the cure's followers: a shift of the law and its spread.

Pure. The core is not told of shops and cans: its job description is moved, nothing else. The record
keeps the two numbers, so that a replay starts from what was known then.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from firmware_host.config.schema import JobDescription

LEAST_LN_SD = 0.12
"""However many jobs there were, the law itself is no better than this."""
MOST_LN_SD = 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class RatePrior:
    """How far this shop's resin is from the job description, in ln of time."""

    ln_time_shift: float
    """Above 0: it gels later than written."""
    ln_sd: float
    source: str
    """What it rests on: sheet, cup or jobs."""


def with_prior(job: JobDescription, prior: RatePrior | None) -> JobDescription:
    """Start the cure's followers there: induction and growth stretched alike, and its doubt."""
    if prior is None:
        return job
    later = math.exp(prior.ln_time_shift)
    resin = replace(
        job.resin,
        induction_min_at_25c=job.resin.induction_min_at_25c * later,
        rate_at_25c_per_s=job.resin.rate_at_25c_per_s / later,
        ln_rate_sd=min(max(prior.ln_sd, LEAST_LN_SD), MOST_LN_SD),
    )
    return replace(job, resin=resin)
