"""Many shells at once on a glass-fibre form: an inhibitor's clock, then a choked autocatalysis.

    dZ/dt = k / t_gel(T), t_gel 30 min at 20 degC, E 58 kJ/mol; nothing else until Z = 1, then
    da/dt = k k0(T) a^0.8 (1 - a)^1.2 / (1 + exp(30 (a - a_c(T)))), from a = 0.02

k0 8e-4 /s at 20 degC, E 45 kJ/mol; the choke is Chern & Poehlein's (Polym. Eng. Sci. 27 (1987)
788), a_c where DiBenedetto's Tg (-50 to 105 degC, lambda 0.35) is 12 K over the laminate. Laminate
and form are two nodes. The constants are a preset's, chosen for a cup of 100 g that gels in 20 min
at 25 degC, not a measured resin's; the law is the one for which the simple rule's sides were set.
Midpoint rule, 5 s.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]

R_J_PER_MOLK = 8.31446261815324
T20_K = 293.15
GEL_20C_S, CLOCK_J_PER_MOL = 1800.0, 58e3
GROWTH_PER_S, GROWTH_J_PER_MOL = 8e-4, 45e3
SPARK, ORDER_M, ORDER_N = 0.02, 0.8, 1.2
GLASS_LOW_K, GLASS_SPAN_K, GLASS_LAMBDA, GLASS_OVER_K = 223.15, 155.0, 0.35, 12.0
CHOKE = 30.0
HEAT_J_PER_KG = 280e3
RESIN_KG_PER_M2_MM = 0.84
"""30 % glass by volume: 0.7 x 1200 kg/m3."""
STORE_J_PER_M2K_MM = 0.84 * 1900.0 + 0.762 * 800.0
TOP_W_PER_M2K, BACK_W_PER_M2K, CONTACT_W_PER_M2K, FORM_J_PER_M2K = 6.0, 6.9, 60.0, 14e3
STEP_S = 5.0
DEAD_WITHIN = 0.006


@dataclass(frozen=True, slots=True, kw_only=True)
class Shells:
    """What the shells really are: one element each, factors on the middle batch."""

    thickness_mm: Array
    speed: Array
    clock: Array
    """What the dose leaves of the clock's speed; 0 for a shell without initiator."""
    growth: Array
    heat: Array
    loss: Array
    form: Array
    clock_j_per_mol: Array
    spark: Array
    dies_at: Array
    shop_k: Array
    drift_k_per_h: Array
    swing_k: Array
    swing_s: Array


def middle(thickness_mm: float, shop_k: float) -> Shells:
    """Give the middle batch at one thickness in a still room."""
    one = np.ones(1)
    return Shells(
        thickness_mm=thickness_mm * one,
        speed=one,
        clock=one,
        growth=one,
        heat=one,
        loss=one,
        form=one,
        clock_j_per_mol=CLOCK_J_PER_MOL * one,
        spark=SPARK * one,
        dies_at=2.0 * one,
        shop_k=shop_k * one,
        drift_k_per_h=0.0 * one,
        swing_k=0.0 * one,
        swing_s=3600.0 * one,
    )


@dataclass(frozen=True, slots=True)
class Courses:
    """How the shells went; rows are moments, columns shells."""

    time_s: Array
    laminate_k: Array
    form_k: Array
    conversion: Array
    shop_k: Array


def room_k(shells: Shells, time_s: float) -> Array:
    """Temperature of each shell's shop."""
    swing = shells.swing_k * np.sin(2.0 * np.pi * time_s / shells.swing_s)
    return np.asarray(shells.shop_k + shells.drift_k_per_h * time_s / 3600.0 + swing)


def courses(shells: Shells, until_s: float, every_s: float) -> Courses:
    """Let the shells cure from mixing on."""
    state = np.array([shells.shop_k, shells.shop_k, 0.0 * shells.shop_k, shells.spark])
    steps, keep = round(until_s / STEP_S), round(every_s / STEP_S)
    rows: list[Array] = []
    for number in range(steps + 1):
        now_s = number * STEP_S
        if number % keep == 0:
            rows.append(np.array([*state, room_k(shells, now_s)]))
        half = state + 0.5 * STEP_S * _change(shells, now_s, state)
        state = state + STEP_S * _change(shells, now_s + 0.5 * STEP_S, half)
    held = np.array(rows)
    return Courses(
        np.arange(len(rows), dtype=np.float64) * (keep * STEP_S),
        held[:, 0],
        held[:, 1],
        held[:, 3],
        held[:, 4],
    )


def _change(shells: Shells, now_s: float, state: Array) -> Array:
    laminate_k, form_k, clock, alpha = state
    shop_k = room_k(shells, now_s)
    over = (1.0 / T20_K - 1.0 / laminate_k) / R_J_PER_MOLK
    tick = shells.speed * shells.clock * np.exp(shells.clock_j_per_mol * over) / GEL_20C_S
    k = shells.speed * shells.growth * GROWTH_PER_S * np.exp(GROWTH_J_PER_MOL * over)
    free = clock >= 1.0
    dead = _falls((alpha - shells.dies_at) / DEAD_WITHIN)
    glassy = (laminate_k + GLASS_OVER_K - GLASS_LOW_K) / GLASS_SPAN_K
    limit = glassy / (GLASS_LAMBDA + glassy * (1.0 - GLASS_LAMBDA))
    left = np.maximum(1.0 - alpha, 0.0)
    grow = free * k * alpha**ORDER_M * left**ORDER_N * _falls(CHOKE * (alpha - limit)) * dead
    store = STORE_J_PER_M2K_MM * shells.thickness_mm
    made = shells.heat * HEAT_J_PER_KG * RESIN_KG_PER_M2_MM * shells.thickness_mm * grow
    across = CONTACT_W_PER_M2K * (laminate_k - form_k)
    top = TOP_W_PER_M2K * shells.loss * (laminate_k - shop_k)
    back = BACK_W_PER_M2K * shells.loss * (form_k - shop_k)
    warms = (made - top - across) / store
    return np.array([warms, (across - back) / (FORM_J_PER_M2K * shells.form), tick, grow])


def _falls(x: Array) -> Array:
    """1 well below 0 and 0 well above."""
    return np.asarray(1.0 / (1.0 + np.exp(np.clip(x, -60.0, 60.0))))
