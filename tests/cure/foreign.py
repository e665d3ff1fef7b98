"""Whole families of batches by laws that the bank does not hold, with couples that see them badly.

Three chemistries, none of them the job file's: a clock with a soft edge and a hard end, radicals
trapped in their network behind an inhibitor (form: Stevenson, Polym. Eng. Sci. 26 (1986) 746), and
growth choked by its glass transition (DiBenedetto). Reaction and two-node heat balance go together
through a classical Runge-Kutta rule, all batches side by side; a test holds it against LSODA.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]

STEP_S = 10.0
KEEP_EVERY = 1
KEPT_S = STEP_S * KEEP_EVERY
R_J_PER_MOLK = 8.314462618
LAWS = ("clock", "radicals", "glass")
NEVER_PER_S = 1e-12


@dataclass(frozen=True, slots=True, kw_only=True)
class Truth:
    """What a family of batches really is; one array element a batch."""

    law: Array
    """Index into LAWS."""
    thickness_mm: Array
    induction_s: Array
    """At 25 degC; when the inhibitor is gone."""
    growth_per_s: Array
    clock_j_per_mol: Array
    growth_j_per_mol: Array
    seed: Array
    heat_j_per_kg: Array
    loss_top: Array
    loss_back: Array
    contact: Array
    mould_j_per_m2k: Array
    cup_kg: Array
    cup_loss_w_per_k: Array
    glass_lead_k: Array
    """By how much glass comes earlier than the job file's limit says."""
    dies_at: Array
    """Conversion at which the initiator is spent; 2 for never."""
    shop_k: Array
    shop_drift_k_per_h: Array
    shop_swing_k: Array
    lamp_w_per_m2: Array
    lamp_from_s: Array
    lamp_to_s: Array
    gel_conversion: float = 0.05


@dataclass(frozen=True, slots=True, kw_only=True)
class Course:
    """How it went, every `KEPT_S`; rows are moments, columns batches."""

    time_s: Array
    conversion: Array
    laminate_k: Array
    mould_k: Array
    cup_k: Array
    shop_k: Array
    gel_s: Array = field()
    """Moment of the gel; nan for a batch that never did."""


def shop_at(truth: Truth, time_s: float) -> Array:
    """Temperature of the shop: a drift and a slow swing."""
    swing = truth.shop_swing_k * np.sin(2.0 * np.pi * time_s / 5400.0)
    return np.asarray(truth.shop_k + truth.shop_drift_k_per_h * time_s / 3600.0 + swing)


def rates(truth: Truth, clock: Array, alpha: Array, temp_k: Array) -> tuple[Array, Array]:
    """Speed of a body's clock (1 when the inhibitor is gone) and of its conversion."""
    over = (1.0 / 298.15 - 1.0 / temp_k) / R_J_PER_MOLK
    tick = np.exp(truth.clock_j_per_mol * over) / truth.induction_s
    grow = truth.growth_per_s * np.exp(truth.growth_j_per_mol * over)
    alpha = np.clip(alpha, 0.0, 1.0)
    free = 1.0 / (1.0 + np.exp(np.clip((1.0 - clock) / 0.01, -60.0, 60.0)))
    glass_k = 197.15 + 260.0 * 0.35 * alpha / (1.0 - 0.65 * alpha) + truth.glass_lead_k
    mobile = 1.0 / (1.0 + np.exp(np.clip((glass_k - temp_k - 12.0) / 5.0, -60.0, 60.0)))
    end = np.clip(0.71 + 0.0036 * (temp_k - 293.15) - truth.glass_lead_k / 286.0, 0.3, 1.0)
    by_clock = 1.6 * free * grow * (truth.seed + alpha**0.85) * np.maximum(end - alpha, 0.0) ** 1.25
    trapped = 1.0 - np.exp(-2.2 * np.maximum(clock - 1.0, 0.0))
    by_radicals = grow * (0.6 * truth.seed + trapped * (0.1 + alpha)) * (1.0 - alpha) * mobile
    by_glass = free * grow * (truth.seed + alpha) * (1.0 - alpha) ** 1.4 * mobile
    grown = np.choose(truth.law.astype(int), [by_clock, by_radicals * (clock > 1.0), by_glass])
    spent = 1.0 / (1.0 + np.exp(np.clip((alpha - truth.dies_at) / 0.004, -60.0, 60.0)))
    return np.where(clock < 4.0, tick, 0.0), np.asarray(grown * spent)


def change(truth: Truth, time_s: float, state: Array) -> Array:
    """Rates of clock, conversion, laminate, mould; of the cup's clock, conversion, temperature."""
    clock, alpha, laminate_k, mould_k, cup_clock, cup_alpha, cup_k = state
    shop_k = shop_at(truth, time_s)
    tick, grow = rates(truth, clock, alpha, laminate_k)
    cup_tick, cup_grow = rates(truth, cup_clock, cup_alpha, cup_k)
    kg_per_m2 = 1.65 * truth.thickness_mm
    lamp = (time_s >= truth.lamp_from_s) & (time_s < truth.lamp_to_s)
    made = truth.heat_j_per_kg * 0.58 * kg_per_m2 * grow + lamp * truth.lamp_w_per_m2
    across = truth.contact * (laminate_k - mould_k)
    top = truth.loss_top * (1.0 + 0.003 * np.abs(laminate_k - shop_k)) * (laminate_k - shop_k)
    cup_loss = truth.cup_loss_w_per_k * (cup_k - shop_k)
    return np.array(
        [
            tick,
            grow,
            (made - top - across) / (1150.0 * kg_per_m2),
            (across - truth.loss_back * (mould_k - shop_k)) / truth.mould_j_per_m2k,
            cup_tick,
            cup_grow,
            (truth.heat_j_per_kg * truth.cup_kg * cup_grow - cup_loss) / (1800.0 * truth.cup_kg),
        ]
    )


def run(truth: Truth, until_s: float) -> Course:
    """Let all batches go from their mixing to a moment."""
    start_k = shop_at(truth, 0.0)
    none = np.zeros_like(start_k)
    state = np.array([none, none, start_k, start_k, none, none, start_k])
    gel_s = np.full(len(start_k), np.nan)
    kept, times = [state], [0.0]
    for number in range(round(until_s / STEP_S)):
        time_s, before = number * STEP_S, state[1]
        state = _step(truth, time_s, state)
        newly = np.isnan(gel_s) & (state[1] >= truth.gel_conversion)
        share = (truth.gel_conversion - before) / np.maximum(state[1] - before, 1e-12)
        gel_s = np.where(newly, time_s + share * STEP_S, gel_s)
        if (number + 1) % KEEP_EVERY == 0:
            kept.append(state)
            times.append(time_s + STEP_S)
    whole = np.array(kept)
    shop_k = np.array([shop_at(truth, time_s) for time_s in times])
    return Course(
        time_s=np.array(times),
        conversion=whole[:, 1],
        laminate_k=whole[:, 2],
        mould_k=whole[:, 3],
        cup_k=whole[:, 6],
        shop_k=shop_k,
        gel_s=gel_s,
    )


def _step(truth: Truth, time_s: float, state: Array) -> Array:
    """Two Runge-Kutta steps; hot resin in the cup sets their length."""
    half = STEP_S / 2.0
    for part in range(2):
        at_s = time_s + part * half
        k1 = change(truth, at_s, state)
        k2 = change(truth, at_s + half / 2.0, state + half / 2.0 * k1)
        k3 = change(truth, at_s + half / 2.0, state + half / 2.0 * k2)
        k4 = change(truth, at_s + half, state + half * k3)
        state = state + half / 6.0 * (k1 + 2.0 * k2 + 2.0 * k3 + k4)
    return np.asarray(state)
