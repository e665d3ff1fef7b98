"""Parts by five published kinds of kinetics, none of them ours, solved by scipy's LSODA.

    trapped    radicals that a first-order initiator makes, dead while inhibitor is left, then
               trapped in their network; form: Stevenson, Polym. Eng. Sci. 26 (1986) 746
    kamal      (k1 + k2 a^m)(1 - a)^n, Kamal & Sourour, Polym. Eng. Sci. 13 (1973) 59, behind an
               inhibitor, choked as in Chern & Poehlein, Polym. Eng. Sci. 27 (1987) 788
    ceiling    (k1 + k2 a^m)(a_max(T) - a)^n, the isothermal form used for vinyl ester
    retarded   k a^m (1 - a)^n with m = 0.524, n = 1.476 (exponents of Bogetti & Gillespie, J.
               Compos. Mater. 25 (1991) 239), its inhibitor leaving slowly instead of at once
    amine      (k1 + k2 a)(1 - a)(B - a), Horie et al., J. Polym. Sci. A-1 8 (1970) 1357, without an
               inhibitor, gelling at half its conversion

Constants are chosen for a gel of 20 to 60 min at 25 degC. Reaction, laminate, mould and cup go
together; the heat loss is not linear.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.integrate import solve_ivp

Array = npt.NDArray[np.float64]

R_J_PER_MOLK = 8.31446261815324
LAWS = ("trapped", "kamal", "ceiling", "retarded", "amine")
SPARKS = {"trapped": 0.0, "kamal": 0.02, "ceiling": 0.03, "retarded": 0.0, "amine": 0.05}
SOFT = {"trapped": 0.004, "kamal": 0.01, "ceiling": 0.02, "retarded": 0.06, "amine": 1.0}
BURNT = 0.15
"""Share of the initiator that the inhibitor of `trapped` takes with it."""
LONGEST_STEP_S = 60.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """What one part really is."""

    law: str
    clock_s: float = 1800.0
    """Life of the inhibitor at 25 degC; 0 where there is none."""
    clock_j_per_mol: float = 54e3
    growth_per_s: float = 1.0e-3
    growth_j_per_mol: float = 46e3
    heat_j_per_kg: float = 360e3
    thickness_mm: float = 4.0
    loss: float = 1.0
    contact_w_per_m2k: float = 110.0
    mould_j_per_m2k: float = 16e3
    cup_kg: float = 0.18
    cup_loss_w_per_k: float = 0.2
    ahead_k: float = 0.0
    """By how much glass comes earlier."""
    dies_at: float = 2.0
    """Conversion at which nothing feeds it any more; above 1 for never."""
    gel_conversion: float = 0.05
    shop_k: float = 294.15
    poured_k: float = 0.0
    """By how much the resin is warmer than the shop."""
    drift_k_per_h: float = 0.0
    swing_k: float = 0.0
    swing_s: float = 5400.0
    lamp_w_per_m2: float = 0.0
    lamp_s: tuple[float, float] = (0.0, 0.0)


def shop_at(part: Part, time_s: float | Array) -> Array:
    """Temperature of the shop: a drift and a swing."""
    swing = part.swing_k * np.sin(2.0 * np.pi * np.asarray(time_s) / part.swing_s)
    return np.asarray(part.shop_k + part.drift_k_per_h * np.asarray(time_s) / 3600.0 + swing)


def _step_at(x: float) -> float:
    return 1.0 / (1.0 + math.exp(min(max(-x, -60.0), 60.0)))


def speed_of(part: Part) -> Callable[[float, float], float]:
    """Give the law's growth, relative to its constant, at conversion and temperature."""
    spark = SPARKS[part.law]

    def mobile(alpha: float, temp_k: float) -> float:
        glass_k = 203.15 + 190.0 * 0.38 * alpha / (1.0 - 0.62 * alpha) + part.ahead_k
        return _step_at((temp_k + 13.0 - glass_k) / 4.0)

    def ceiling(temp_k: float) -> float:
        return min(0.72 + 0.004 * (temp_k - 293.15) - 0.0035 * part.ahead_k, 1.0)

    def kamal(alpha: float, temp_k: float) -> float:
        choke = _step_at(30.0 * (ceiling(temp_k) - 0.04 - alpha))
        return float((spark + alpha**0.85) * (1.0 - alpha) ** 1.6 * choke)

    def to_ceiling(alpha: float, temp_k: float) -> float:
        return float(1.5 * (spark + alpha**0.7) * max(ceiling(temp_k) - alpha, 0.0) ** 1.3)

    def retarded(alpha: float, temp_k: float) -> float:
        return float(max(alpha, 2e-3) ** 0.524 * (1.0 - alpha) ** 1.476 * mobile(alpha, temp_k))

    def amine(alpha: float, temp_k: float) -> float:
        return (spark + alpha) * (1.0 - alpha) ** 2 * mobile(alpha, temp_k)

    def trapped(alpha: float, temp_k: float) -> float:
        return 0.8 * (1.0 - alpha) * mobile(alpha, temp_k)

    return {
        "kamal": kamal,
        "ceiling": to_ceiling,
        "retarded": retarded,
        "amine": amine,
        "trapped": trapped,
    }[part.law]


def chemistry(part: Part) -> Callable[[float, float, float], tuple[float, float]]:
    """Give the law: rates of clock and conversion at clock, conversion and temperature.

    The clock is 1 when the inhibitor is gone.
    """
    speed, soft = speed_of(part), SOFT[part.law]
    fade = -math.log(1.0 - BURNT)

    def free(clock: float) -> float:
        """Share of the growth that the inhibitor leaves."""
        if part.law == "amine":
            return 1.0
        if part.law == "trapped":
            return max(math.exp(-fade) - math.exp(-fade * clock), 0.0) / BURNT
        return _step_at((clock - 1.0) / soft)

    def rates(clock: float, alpha: float, temp_k: float) -> tuple[float, float]:
        over = (1.0 / 298.15 - 1.0 / temp_k) / R_J_PER_MOLK
        alpha = min(max(alpha, 0.0), 1.0)
        grow = part.growth_per_s * math.exp(part.growth_j_per_mol * over)
        tick = math.exp(part.clock_j_per_mol * over) / part.clock_s if part.clock_s else 0.0
        spent = _step_at((part.dies_at - alpha) / 0.006)
        over_at = 20.0 if part.law == "trapped" else 3.0
        tick *= _step_at((over_at - clock) / (0.1 * over_at))
        return tick, grow * free(clock) * speed(alpha, temp_k) * spent

    return rates


@dataclass(frozen=True, slots=True, kw_only=True)
class Course:
    """How a part went; one element a moment."""

    time_s: Array
    conversion: Array
    laminate_k: Array
    mould_k: Array
    cup_k: Array
    shop_k: Array
    gel_s: float
    """nan where it never gelled."""


def run(part: Part, until_s: float, every_s: float = 10.0) -> Course:
    """Solve one part from its mixing on."""
    rates = chemistry(part)
    kg_per_m2 = 1.65 * part.thickness_mm
    top, back = 9.0 * part.loss, 6.0 * part.loss
    first_s, last_s = part.lamp_s

    def change(time_s: float, state: Array) -> list[float]:
        clock, alpha, lam, mould, cup_clock, cup_alpha, cup = (float(v) for v in state)
        swing = part.swing_k * math.sin(2.0 * math.pi * time_s / part.swing_s)
        shop = part.shop_k + part.drift_k_per_h * time_s / 3600.0 + swing
        tick, grow = rates(clock, alpha, lam)
        cup_tick, cup_grow = rates(cup_clock, cup_alpha, min(cup, 470.0))
        lit = part.lamp_w_per_m2 * _step_at((time_s - first_s) / 10.0)
        lit *= _step_at((last_s - time_s) / 10.0)
        across = part.contact_w_per_m2k * (lam - mould)
        lost = top * (1.0 + 0.004 * abs(lam - shop)) * (lam - shop)
        made = part.heat_j_per_kg * 0.58 * kg_per_m2 * grow + lit
        cup_lost = part.cup_loss_w_per_k * part.loss * (cup - shop)
        cup_made = part.heat_j_per_kg * part.cup_kg * cup_grow
        return [
            tick,
            grow,
            (made - lost - across) / (1150.0 * kg_per_m2),
            (across - back * (mould - shop)) / part.mould_j_per_m2k,
            cup_tick,
            cup_grow,
            (cup_made - cup_lost) / (1800.0 * part.cup_kg),
        ]

    times = np.arange(0.0, until_s + 0.5 * every_s, every_s)
    resin_k = part.shop_k + part.poured_k
    start = [0.0, 0.0, resin_k, part.shop_k, 0.0, 0.0, resin_k]
    y = solve_ivp(
        change, (0.0, times[-1]), start, t_eval=times, method="LSODA",
        rtol=1e-6, atol=1e-8, max_step=LONGEST_STEP_S,
    ).y  # fmt: skip
    past = np.flatnonzero(y[1] >= part.gel_conversion)
    gel_s = math.nan
    if len(past) and past[0] > 0:
        at = slice(past[0] - 1, past[0] + 1)
        gel_s = float(np.interp(part.gel_conversion, y[1][at], times[at]))
    return Course(
        time_s=times,
        conversion=y[1],
        laminate_k=y[2],
        mould_k=y[3],
        cup_k=y[6],
        shop_k=shop_at(part, times),
        gel_s=gel_s,
    )
