"""Draws of foreign batches with their job files, couples and marks: what a bench is fed with.

A job file is nominal. The batch behind it is off in rate by a third, in dose by 8 %, in losses by
30 %, and in the shape of its law; its couples are off by half a kelvin, step by a quarter and see
only a share of the warmth.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from firmware_host.config.load import parse_job
from firmware_host.config.schema import JobDescription
from firmware_host.core.cure_watch import CureWatch
from firmware_host.model.channels import Role
from firmware_host.model.events import CureEstimated, CureState, GelForecast, GelPlaced
from tests.cure.foreign import KEPT_S, LAWS, Array, Course, Truth, run

ROLES = (Role.PART, Role.PART, Role.MOULD, Role.SHOP, Role.CUP)
STEP_K = 0.25
NEVER = 1e-7
JOB = """
[job]
part = "kayak hatch cover"
initiator_percent = 1.5
[resin]
family = "polyester"
initiator_reference_percent = 1.5
induction_min_at_25c = {induction_min:.2f}
rate_at_25c_per_s = {rate:.3e}
seed_fraction = 0.03
[laminate]
thickness_mm = {thickness_mm:.2f}
resin_mass_fraction = 0.58
[cup]
resin_g = 180.0
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Draw:
    """How a family differs from its job files."""

    count: int = 60
    rate_sd: float = 0.30
    known_sd: float = 0.35
    """What the job believes of its own rate: 0.15 once cups have been learnt from."""
    slower: float = 1.0
    beads: tuple[float, float] = (0.75, 1.0)
    cup: bool = True
    lamp: str = ""
    """"marked", "unmarked" or nothing."""
    gap_s: float = 0.0
    """Without any reading, somewhere about the gel."""
    lost_s: float = 0.0
    """Both couples on the part lost, about the gel."""
    dies: bool = False
    never: bool = False
    shop_c: tuple[float, float] = (17.0, 26.0)
    drift_k_per_h: float = 0.7
    thickness_mm: tuple[float, float] = (2.2, 6.0)
    until_s: float = 15000.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Family:
    """Batches that were run, with what the job file says of each."""

    draw: Draw
    truth: Truth
    course: Course
    jobs: tuple[JobDescription, ...]
    blind_from_s: Array
    seed: int


def family(draw: Draw, seed: int) -> Family:
    """Draw and run the batches."""
    rng = np.random.default_rng(seed)
    n = draw.count
    one = np.ones(n)
    nominal_s = rng.uniform(20.0, 40.0, n) * 60.0
    nominal_rate = rng.uniform(0.8e-3, 1.3e-3, n)
    thickness = rng.uniform(*draw.thickness_mm, n)
    speed = np.exp(np.clip(draw.rate_sd * rng.normal(size=n), -0.7, 0.7)) / draw.slower
    dose = np.exp(0.08 * rng.normal(size=n))
    loss = np.exp(np.clip(0.26 * rng.normal(size=n), -0.5, 0.5))
    clock = nominal_s / (speed * dose**0.8) * np.exp(0.12 * rng.normal(size=n))
    lamp_from = rng.uniform(0.3, 1.4, n) * 3600.0 if draw.lamp else 1e9 * one
    truth = Truth(
        law=rng.integers(0, len(LAWS), n).astype(float),
        thickness_mm=thickness * rng.uniform(0.95, 1.05, n),
        induction_s=1.0 / NEVER * one if draw.never else clock,
        growth_per_s=nominal_rate * speed * dose**0.5 * np.exp(0.15 * rng.normal(size=n)),
        clock_j_per_mol=rng.uniform(48e3, 60e3, n),
        growth_j_per_mol=rng.uniform(42e3, 50e3, n),
        seed=0.03 * np.exp(0.3 * rng.normal(size=n)),
        heat_j_per_kg=360e3 * np.exp(0.1 * rng.normal(size=n)),
        loss_top=9.0 * loss,
        loss_back=6.0 * loss,
        contact=110.0 * rng.uniform(0.7, 1.3, n),
        mould_j_per_m2k=16e3 * rng.uniform(0.8, 1.2, n),
        cup_kg=0.18 * rng.uniform(0.9, 1.1, n),
        cup_loss_w_per_k=0.2 * loss,
        glass_lead_k=8.0 * rng.normal(size=n),
        dies_at=rng.uniform(0.08, 0.35, n) if draw.dies else 2.0 * one,
        shop_k=273.15 + rng.uniform(*draw.shop_c, n),
        shop_drift_k_per_h=draw.drift_k_per_h * rng.uniform(-1.0, 1.0, n),
        shop_swing_k=rng.uniform(0.0, 0.7, n),
        lamp_w_per_m2=rng.uniform(60.0, 160.0, n) if draw.lamp else 0.0 * one,
        lamp_from_s=lamp_from,
        lamp_to_s=lamp_from + rng.uniform(900.0, 3600.0, n),
    )
    course = run(truth, draw.until_s)
    gel = np.where(np.isnan(course.gel_s), 4500.0, course.gel_s)
    jobs = tuple(
        _job(nominal_s[i] / 60.0, nominal_rate[i], thickness[i], draw.known_sd) for i in range(n)
    )
    return Family(
        draw=draw,
        truth=truth,
        course=course,
        jobs=jobs,
        blind_from_s=np.maximum(gel - rng.uniform(0.1, 0.9, n) * 3600.0, 60.0),
        seed=seed,
    )


def _job(induction_min: float, rate: float, thickness_mm: float, sd: float) -> JobDescription:
    job = parse_job(
        JOB.format(induction_min=induction_min, rate=rate, thickness_mm=thickness_mm), "job.toml"
    )
    return replace(job, resin=replace(job.resin, ln_rate_sd=sd))


@dataclass(frozen=True, slots=True, kw_only=True)
class Followed:
    """What was said of one batch, beside what was true."""

    gel_s: float
    conversion: tuple[CureEstimated, ...]
    forecasts: tuple[GelForecast, ...]
    placed: GelPlaced | None
    true_conversion: Array
    """At the times of `conversion`."""
    watch: CureWatch
    states: tuple[CureState, ...]
    """In the order in which they were entered."""


def readings(one: Family, index: int) -> Array:
    """What the five couples show at each moment, in K; nan where one shows nothing."""
    rng = np.random.default_rng([one.seed, index])
    course, draw = one.course, one.draw
    shop = course.shop_k[:, index]
    lam = course.laminate_k[:, index]
    shown = []
    for place in (lam, lam, course.mould_k[:, index], shop, course.cup_k[:, index]):
        bead = rng.uniform(*draw.beads) if place is lam else 1.0
        off = rng.normal(0.0, 0.5) + rng.normal(0.0, 0.06, len(lam))
        value = shop + bead * (place - shop) + off
        shown.append(np.round(value / STEP_K) * STEP_K)
    out = np.array(shown).T
    t = course.time_s
    begin = one.blind_from_s[index]
    if draw.gap_s:
        out[(t >= begin) & (t < begin + draw.gap_s)] = np.nan
    if draw.lost_s:
        out[(t >= begin) & (t < begin + draw.lost_s), :2] = np.nan
    if not draw.cup:
        out[:, 4] = np.nan
    return out


def follow(one: Family, index: int) -> Followed:
    """Take a batch through the watch, block by block."""
    job = one.jobs[index]
    roles = ROLES if one.draw.cup else ROLES[:4]
    watch = CureWatch(job if one.draw.cup else replace(job, cup=None), roles)
    shown = readings(one, index)
    said: list[object] = []
    before = shown[0]
    for number in range(24):
        watch.block(number * 10.0 + 10.0, tuple(float(v) for v in before[: len(roles)]))
    zero_s, states = 300.0, [CureState.WAITING]
    watch.begin(zero_s, zero_s, provisional=False)
    for number, row in enumerate(shown[1:], start=1):
        if np.all(np.isnan(row)):
            continue
        now_s = number * KEPT_S
        marked = one.draw.lamp == "marked"
        lit = one.truth.lamp_from_s[index] + 20.0 <= now_s < one.truth.lamp_to_s[index] + 20.0
        watch.heated = marked and bool(lit)
        temps = tuple(None if np.isnan(v) else float(v) for v in row[: len(roles)])
        said += watch.block(zero_s + now_s, temps)
        if watch.state is not states[-1]:
            states.append(watch.state)
    said += watch.finish(zero_s + one.draw.until_s)
    cure = tuple(e for e in said if isinstance(e, CureEstimated))
    placed = [e for e in said if isinstance(e, GelPlaced)]
    at = [e.time_s - zero_s for e in cure]
    return Followed(
        gel_s=float(one.course.gel_s[index]) + zero_s,
        conversion=cure,
        forecasts=tuple(e for e in said if isinstance(e, GelForecast)),
        placed=placed[-1] if placed else None,
        true_conversion=np.interp(at, one.course.time_s, one.course.conversion[:, index]),
        watch=watch,
        states=tuple(states),
    )
