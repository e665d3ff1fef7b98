"""Jobs about shells: what the file says of the middle batch, and what the couples show of one."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cache

import numpy as np

from firmware_host.config.load import parse_job
from firmware_host.config.schema import JobDescription
from tests.cure import shells
from tests.cure.shells import Array, Courses, Shells, courses, middle
from tests.cure.unlike import Course, Part
from tests.cure.unlike_jobs import BEFORE_S, NEVER_S, STEP_K, Draw, Story

THICKNESSES_MM = (2.0, 3.0, 4.0, 6.0)
COUPLES = ("part1", "part2", "mould", "shop")
GEL = 0.05
JOB = """
[job]
part = "kayak hatch cover"
initiator_percent = 1.5
[resin]
family = "polyester"
initiator_reference_percent = 1.5
induction_min_at_25c = {induction_min:.3f}
induction_activation_kj_per_mol = 58.0
induction_initiator_exponent = 1.0
rate_at_25c_per_s = {rate:.4e}
rate_activation_kj_per_mol = 45.0
rate_initiator_exponent = 0.5
seed_fraction = 0.03
order_m = 0.8
order_n = 1.2
gel_conversion = 0.05
heat_of_cure_kj_per_kg = 280.0
conversion_limit_at_20c = {limit:.3f}
[laminate]
thickness_mm = {thickness_mm}
resin_mass_fraction = 0.5243
density_kg_per_m3 = 1602.0
specific_heat_j_per_kgk = 1376.8
loss_top_w_per_m2k = 6.0
contact_w_per_m2k = 60.0
loss_back_w_per_m2k = 6.9
mould_heat_kj_per_m2k = 14.0
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Kind:
    """What kind of shells to draw."""

    slower: float = 1.0
    half_dose: bool = False
    dose_exponent: float = 1.0
    """By which the truth's clock goes with the dose; the file believes 1."""
    never: bool = False
    dies: bool = False
    comes_off: bool = False
    spread: float | None = None
    """Of ln rate; None for as much as the job believes."""
    thicknesses_mm: tuple[float, ...] = THICKNESSES_MM
    until_s: float = 20000.0
    every_s: float = 60.0


@cache
def onset_clock(thickness_mm: float) -> float:
    """Clock at which the middle batch shows 1.5 K at 20 degC, in lives of the file's inhibitor."""
    went = courses(middle(thickness_mm, shells.T20_K), 12000.0, 10.0)
    at_s = went.time_s[np.argmax(went.laminate_k[:, 0] - went.shop_k[:, 0] > 1.5)]
    over = (1.0 / 298.15 - 1.0 / shells.T20_K) / shells.R_J_PER_MOLK
    return float(at_s) * math.exp(shells.CLOCK_J_PER_MOL * over) / (60.0 * _said()[0])


@cache
def _said() -> tuple[float, float, float]:
    """Read induction, growth and end off the middle batch, without its own heat."""
    cool = replace(middle(3.0, 298.15), heat=np.zeros(1))
    went = courses(cool, 12000.0, 5.0)
    alpha = np.linspace(0.0, 0.6, 6001)
    inverse = 1.0 / ((0.03 + alpha**0.8) * (1.0 - alpha) ** 1.2)
    theta = np.concatenate([[0.0], np.cumsum(0.5 * (inverse[1:] + inverse[:-1]) * 1e-4)])
    first, last = np.interp([GEL, GEL + 0.3], alpha, theta)
    gel_s, later_s = np.interp([GEL, GEL + 0.3], went.conversion[:, 0], went.time_s)
    rate = (last - first) / (later_s - gel_s)
    end = courses(replace(cool, shop_k=np.full(1, shells.T20_K)), 90000.0, 600.0).conversion[-1, 0]
    return float(gel_s - first / rate) / 60.0, float(rate), min(float(end), 0.95)


def job_of(thickness_mm: float, known_sd: float) -> JobDescription:
    """Describe the middle batch, believed to so much."""
    induction_min, rate, limit = _said()
    text = JOB.format(
        induction_min=induction_min, rate=rate, limit=limit, thickness_mm=thickness_mm
    )
    job = parse_job(text, "job.toml")
    return replace(job, resin=replace(job.resin, ln_rate_sd=known_sd))


def stories(kind: Kind, known_sd: float, seed: int, count: int) -> Iterator[Story]:
    """Draw shells, one thickness after the other."""
    sizes = kind.thicknesses_mm
    for place, thickness_mm in enumerate(sizes[:count]):
        some = len(range(place, count, len(sizes)))
        rng = np.random.default_rng([seed, place])
        drawn = _drawn(kind, known_sd, thickness_mm, some, rng)
        went = courses(drawn, kind.until_s, kind.every_s)
        job = job_of(thickness_mm, known_sd)
        for number in range(some):
            yield _story(kind, job, went, number, rng)


def _drawn(kind: Kind, sd: float, thickness_mm: float, n: int, rng: np.random.Generator) -> Shells:
    dose = 0.5 if kind.half_dose else 1.0
    clock = 0.0 if kind.never else dose**kind.dose_exponent
    spread = sd if kind.spread is None else kind.spread
    normal = rng.normal(size=(6, n))
    one = np.ones(n)
    return Shells(
        thickness_mm=thickness_mm * one,
        speed=np.exp(spread * normal[0]) / kind.slower,
        clock=clock * one,
        growth=dose**0.5 * one,
        heat=np.exp(0.10 * normal[1]),
        loss=np.exp(0.30 * normal[2]),
        form=np.exp(0.20 * normal[3]),
        clock_j_per_mol=shells.CLOCK_J_PER_MOL + 5e3 * normal[4],
        spark=shells.SPARK * np.exp(0.30 * normal[5]),
        dies_at=rng.uniform(0.08, 0.35, n) if kind.dies else 2.0 * one,
        shop_k=273.15 + rng.uniform(15.0, 27.0, n),
        drift_k_per_h=rng.uniform(-1.0, 1.0, n),
        swing_k=rng.uniform(0.0, 1.0, n),
        swing_s=rng.uniform(1200.0, 7200.0, n),
    )


def _story(
    kind: Kind, job: JobDescription, went: Courses, number: int, rng: np.random.Generator
) -> Story:
    shop, alpha = went.shop_k[:, number], went.conversion[:, number]
    gelled = alpha >= GEL
    gel_s = float(went.time_s[np.argmax(gelled)]) if np.any(gelled) else math.nan
    quiet_s = np.arange(-BEFORE_S, 0.0, kind.every_s)
    time_s = np.concatenate([quiet_s, went.time_s])
    before = np.full(len(quiet_s), shop[0])
    room = np.concatenate([before, shop])
    off_s = gel_s + rng.uniform(600.0, 3600.0)
    columns = [time_s + BEFORE_S]
    for name in COUPLES:
        true_k = {"mould": went.form_k[:, number], "shop": shop}.get(
            name, went.laminate_k[:, number]
        )
        bead = rng.uniform(0.75, 1.0) if name.startswith("part") else 1.0
        shown = room + bead * (np.concatenate([before, true_k]) - room)
        if kind.comes_off and name == "part1":
            shown = np.where(time_s > off_s, room + (shown - room) * _cools(time_s - off_s), shown)
        shown = shown + rng.normal(0.0, 0.3) + rng.normal(0.0, 0.06, len(shown))
        columns.append(np.round(shown / STEP_K) * STEP_K)
    course = Course(
        time_s=went.time_s,
        conversion=alpha,
        laminate_k=went.laminate_k[:, number],
        mould_k=went.form_k[:, number],
        cup_k=went.laminate_k[:, number],
        shop_k=shop,
        gel_s=gel_s,
    )
    return Story(
        draw=Draw(couples=COUPLES, every_s=kind.every_s, comes_off=kind.comes_off),
        part=Part(law="shell", clock_s=NEVER_S if kind.never else shells.GEL_20C_S),
        course=course,
        job=job,
        rows=np.array(columns).T,
        marks=((BEFORE_S, "mixed"),),
    )


def _cools(since_s: Array) -> Array:
    """Share of its rise that a bead in the air still shows."""
    return np.asarray(np.exp(-np.clip(since_s, 0.0, None) / 30.0))
