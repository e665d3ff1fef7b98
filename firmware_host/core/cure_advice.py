"""What differs from the plan where a kick is late, and how warm the part may be made.

Pure. Warming is the one thing that helps a wet lay-up: never a second dose. Laminate and air at
most 35 degC, for styrene's flash point is 31 to 32 degC and open resin stands about; never so warm
that the kick, which comes hotter from there, may pass what form or job can bear.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from firmware_host.batch.post_cure import hottest_borne_c
from firmware_host.config.schema import Family, JobDescription
from firmware_host.history.resin import resin_can
from firmware_host.model.events import CaseAhead, CureForeseen
from hardware.units import ZERO_CELSIUS_K

WARMEST_C = 35.0
WARMER_C = (WARMEST_C, 30.0, 25.0)
"""Tried from the warmest down."""
LEAST_WARMING_K = 2.0
COLDER_K = 1.5
COLD_C = 15.0
"""Below this a pour is blocked without a typed reason: common practice, no source."""
OLD_MONTHS = 6
"""Shelf life that polyester suppliers print; some say a year."""
DAYS_A_MONTH = 30.44
LEAST_PERCENT = 1.0
LESS_DOSE = 0.9
"""A dose below this share of the one that the resin's times stand for is named."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Felt:
    """What the part went through since mixing."""

    laminate_k: float | None
    """Mean since mixing; None where nothing was measured."""
    poured_on: date | None


def differences(job: JobDescription, felt: Felt) -> tuple[str, ...]:
    """Name what differs from the plan, the likeliest cause first."""
    found = (_colder(job, felt.laminate_k), _older(job, felt.poured_on), _dose(job))
    return tuple(words for words in found if words)


def warmer_rooms_k(job: JobDescription, room_k: float) -> tuple[float, ...]:
    """List how warm laminate and air might be made, the warmest first."""
    tried = (warm_c + ZERO_CELSIUS_K for warm_c in WARMER_C if warm_c <= hottest_borne_c(job))
    return tuple(warm_k for warm_k in tried if warm_k >= room_k + LEAST_WARMING_K)


def warmest_wise(job: JobDescription, cases: Sequence[CaseAhead]) -> CaseAhead | None:
    """Give the first of the cases whose kick stays within what form and job can bear."""
    limit_k = hottest_borne_c(job) + ZERO_CELSIUS_K
    return next((case for case in cases if case.hottest_k[2] <= limit_k), None)


def warming_words(seen: CureForeseen | None) -> str:
    """Say what warming buys, in minutes; empty where nothing was foreseen."""
    if seen is None:
        return ""
    if seen.warm_to_k is None:
        return "Warming is of no use, or its kick may pass what form or job can bear: do not warm."
    case = next((one for one in seen.cases if one.warmed_k is not None), None)
    to_c = f"Warmed to {seen.warm_to_k - ZERO_CELSIUS_K:.0f} degC"
    if case is None:
        return f"{to_c} at most."
    soon = [sooner_min(seen.cases[0], case, index) for index in range(3)]
    low, likely, high = soon
    if likely is None:
        gel_s = case.gel_s[1]
        if gel_s is None:
            return f"{to_c} at most; even so no gel is in sight."
        within_min = (gel_s - seen.time_s) / 60.0
        return f"{to_c}: gel likely within {within_min:.0f} min; as it is not in sight."
    spread = f" ({low:.0f} to {high:.0f})" if low is not None and high is not None else ""
    return f"{to_c}: gel likely {likely:.0f} min sooner{spread}."


def sooner_min(now: CaseAhead, warmed: CaseAhead, index: int) -> float | None:
    """Give by how many minutes the gel comes sooner, at 5, 50 or 95 % of both."""
    plain_s, warm_s = now.gel_s[index], warmed.gel_s[index]
    if plain_s is None or warm_s is None:
        return None
    return max(plain_s - warm_s, 0.0) / 60.0


def what_to_do(job: JobDescription, seen: CureForeseen | None) -> str:
    """Say what to do with a part that is late or has died, within what is safe here."""
    never = (
        "Never add hardener to a wet lay-up."
        if job.resin.family is Family.EPOXY
        else "Never add initiator to a wet lay-up."
    )
    if seen is not None and seen.warm_to_k is None:
        return f"Keep the vacuum on and wait. Check dose, can and couple. {never}"
    most_c = WARMEST_C
    if seen is not None and seen.warm_to_k is not None:
        most_c = seen.warm_to_k - ZERO_CELSIUS_K
    return (
        "Keep the vacuum on. Warm the whole piece gently, laminate and air at most "
        f"{most_c:.0f} degC, no gun, flame or lamp near open resin; heat off at the first rise. "
        f"{never}"
    )


def _colder(job: JobDescription, laminate_k: float | None) -> str:
    if laminate_k is None:
        return ""
    felt_c = laminate_k - ZERO_CELSIUS_K
    stated = (job.conditions.resin_c, job.conditions.form_c, job.conditions.shop_c)
    planned = [temp_c for temp_c in stated if temp_c is not None]
    if planned:
        below_k = sum(planned) / len(planned) - felt_c
        if below_k >= COLDER_K:
            return f"{below_k:.0f} K colder than planned"
    return f"laminate at {felt_c:.0f} degC, below {COLD_C:.0f}" if felt_c < COLD_C else ""


def _older(job: JobDescription, poured_on: date | None) -> str:
    can = resin_can(job)
    if can is None or poured_on is None:
        return ""
    if can.expires is not None and can.expires < poured_on:
        return f"can past its date by {_months(can.expires, poured_on)}"
    for word, since in (("opened", can.opened), ("made", can.made)):
        if since is not None and (poured_on - since).days >= OLD_MONTHS * DAYS_A_MONTH:
            return f"can old: {word} {_months(since, poured_on)} ago"
    return ""


def _months(since: date, until: date) -> str:
    months = (until - since).days / DAYS_A_MONTH
    return f"{months:.0f} months" if months >= 1.5 else f"{(until - since).days} days"


def _dose(job: JobDescription) -> str:
    percent, reference = job.job.initiator_percent, job.resin.initiator_reference_percent
    if not job.resin.has_initiator or percent <= 0.0:
        return ""
    printed = job.sheet.lowest_percent if job.sheet is not None else None
    lowest = LEAST_PERCENT if printed is None else printed
    if percent < lowest:
        return f"dose {percent:.2g} %, below {lowest:.2g} %"
    if percent < LESS_DOSE * reference:
        return f"dose {percent:.2g} % where the times stand for {reference:.2g} %"
    return ""
