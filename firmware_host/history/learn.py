"""A shop's own resin, learnt from cups and pours by Bayes' rule.

Pure. The law of the job description gives ln t; what is learnt is how far this shop is from it:

    ln t = law(T, d) + rate - p ln(d/d_ref) + (E/R)(1/T - 1/T20) + can [- ratio in a cup] + scatter

`rate`, `p` and `E` belong to the shop, `can` to one lot, `scatter` to one job; `ratio` is the ln of
how much later a shell gels than a cup. A shop's rate wanders, so old jobs count less. Spreads:
rate as the resin's own doubt, p 0.35, E 6 kJ/mol, our fit of published tables with its scatter;
can 0.15, job 0.08, cup 0.07, ratio N(ln 1.35, 0.25): ours, to be checked on real cups.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date

from firmware_host.history.gaussian import Belief, Expected, independent
from firmware_host.history.outcomes import Kind, Outcome
from firmware_host.physics.gel_time import GAS_CONSTANT_J_PER_MOLK, T20_K, GelLaw

RATE, EXPONENT, ACTIVATION, RATIO = "rate", "exponent", "activation", "ratio"
EXPONENT_SD = 0.35
ACTIVATION_SD_J_PER_MOL = 6000.0
RATIO_MEAN, RATIO_SD = math.log(1.35), 0.25
STATED_RATIO_SD = 0.05
CAN_SD = 0.15
UNKNOWN_CAN_SD = 2.0
"""Of a can that begins with a cup: it may be old by years, and the cup says so better than we."""
JOB_SD = 0.08
CUP_SD = 0.07
WANDER_SD_PER_SQRT_MONTH = 0.05
DAYS_PER_MONTH = 30.4
MOST_CANS = 6
"""Cans kept in mind; the one not met for longest is forgotten, not what it taught."""
GATE_SD = 3.0
"""Beyond this a job is asked about, and pulls no harder than if it lay here."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Learnt:
    """What is known of one resin in one shop."""

    belief: Belief
    law: GelLaw
    cans: tuple[str, ...] = ()
    """Lots in mind, the one met last at the end."""
    shells: int = 0
    cups: int = 0
    last: date | None = None
    last_job: str = ""
    surprises: tuple[str, ...] = ()
    """Jobs that fit nothing known; another can, or a mistake in the cup."""

    @property
    def ratio(self) -> Expected:
        """How much later a shell gels than a cup, as ln."""
        return self.belief.expected({RATIO: 1.0})


def unlearnt(law: GelLaw, ln_rate_sd: float) -> Learnt:
    """Know the law and its published scatter, nothing of this shop."""
    has_dose = law.reference_percent > 0.0
    belief = independent(
        rate=(0.0, ln_rate_sd),
        exponent=(0.0, EXPONENT_SD if has_dose else 0.0),
        activation=(0.0, ACTIVATION_SD_J_PER_MOL),
        ratio=(RATIO_MEAN, RATIO_SD),
    )
    return Learnt(belief=belief, law=law)


def learn(start: Learnt, outcomes: Iterable[Outcome]) -> Learnt:
    """Take in every outcome that teaches, oldest first; the same facts twice count once."""
    known = start
    for outcome in in_order(outcomes):
        known = learn_one(known, outcome)
    return known


def in_order(outcomes: Iterable[Outcome]) -> Sequence[Outcome]:
    """Oldest first, undated ones before all, no job twice."""
    by_job = {outcome.job: outcome for outcome in outcomes}
    return sorted(by_job.values(), key=lambda one: (one.on or date.min, one.job))


def learn_one(known: Learnt, outcome: Outcome) -> Learnt:
    """Take in one more; the cost does not depend on how many came before."""
    if not outcome.teaches or outcome.temp_k is None:
        return known
    law_min = known.law.gel_min(outcome.temp_k, outcome.dose_percent)
    known = _met(_aged(known, outcome.on), outcome)
    weights = _weights(known, outcome.temp_k, outcome.dose_percent, outcome.lot, outcome.kind)
    sd = _scatter(outcome)
    known = _counted(known, outcome)
    if outcome.gel_min is None:
        bound = math.log((outcome.not_by_min or 0.0) / law_min)
        return replace(known, belief=known.belief.seen_above(weights, bound, sd))
    value = math.log(outcome.gel_min / law_min)
    now = known.belief.expected(weights)
    off = abs(value - now.mean)
    if off > GATE_SD * math.hypot(now.sd, sd):
        sd = math.sqrt(max((off / GATE_SD) ** 2 - now.sd**2, sd**2))
        known = replace(known, surprises=(*known.surprises, outcome.job))
    return replace(known, belief=known.belief.seen(weights, value, sd))


def with_ratio(known: Learnt, ratio: float) -> Learnt:
    """Take the person's word for how much later a shell on this form gels than the cup."""
    belief = known.belief.without(RATIO).joined(RATIO, math.log(ratio), STATED_RATIO_SD)
    return replace(known, belief=belief)


def forecast(known: Learnt, temp_k: float, dose_percent: float, lot: str = "") -> Expected:
    """Give ln of the shell's gel time in minutes for the next job, its own scatter included."""
    law_min = known.law.gel_min(temp_k, dose_percent)
    deviation = known.belief.expected(_weights(known, temp_k, dose_percent, lot, Kind.SHELL))
    new_can = 0.0 if lot and lot in known.cans else CAN_SD
    return Expected(
        mean=math.log(law_min) + deviation.mean,
        sd=math.hypot(deviation.sd, JOB_SD, new_can),
    )


def aged_until(known: Learnt, today: date) -> Learnt:
    """Let the time since the last job widen what is known."""
    return _aged(known, today) if known.last is not None else known


def _weights(
    known: Learnt, temp_k: float, dose_percent: float, lot: str, kind: Kind
) -> dict[str, float]:
    weights = {RATE: 1.0, ACTIVATION: (1.0 / temp_k - 1.0 / T20_K) / GAS_CONSTANT_J_PER_MOLK}
    if known.law.reference_percent > 0.0:
        weights[EXPONENT] = -math.log(dose_percent / known.law.reference_percent)
    if lot and lot in known.cans:
        weights[_can(lot)] = 1.0
    if kind is Kind.CUP:
        weights[RATIO] = -1.0
    return weights


def _scatter(outcome: Outcome) -> float:
    own = CUP_SD if outcome.kind is Kind.CUP else JOB_SD
    return math.hypot(own, outcome.gel_ln_sd, 0.0 if outcome.lot else CAN_SD)


def _counted(known: Learnt, outcome: Outcome) -> Learnt:
    if outcome.kind is Kind.CUP:
        return replace(known, cups=known.cups + 1, last_job=outcome.job)
    return replace(known, shells=known.shells + 1, last_job=outcome.job)


def _aged(known: Learnt, on: date | None) -> Learnt:
    if on is None:
        return known
    days = (on - known.last).days if known.last is not None else 0
    belief = known.belief
    if days > 0:
        belief = belief.widened(RATE, WANDER_SD_PER_SQRT_MONTH * math.sqrt(days / DAYS_PER_MONTH))
    return replace(known, belief=belief, last=max(on, known.last or on))


def _met(known: Learnt, outcome: Outcome) -> Learnt:
    """Take up the outcome's can, or move it to the end; forget the oldest of too many."""
    lot = outcome.lot
    if not lot:
        return known
    belief, others = known.belief, tuple(one for one in known.cans if one != lot)
    if lot not in known.cans:
        spread = UNKNOWN_CAN_SD if outcome.kind is Kind.CUP else CAN_SD
        belief = belief.joined(_can(lot), 0.0, spread)
    while len(others) >= MOST_CANS:
        belief, others = belief.without(_can(others[0])), others[1:]
    return replace(known, belief=belief, cans=(*others, lot))


def _can(lot: str) -> str:
    return f"can {lot}"
