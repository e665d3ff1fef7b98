"""How hot the part gets at its kick: one batch of `gel_time`'s law in two nodes, laminate and form.

    C_l dT_l/dt = H d(alpha)/dt - U_top (T_l - T_shop) - h (T_l - T_f)
    C_f dT_f/dt = h (T_l - T_f) - U_back (T_f - T_shop)

Plain arithmetic, for the plan; the watch lets its whole bank run. Heat is stepped implicitly, as in
the bank, growth by the midpoint rule.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from firmware_host.physics.gel_time import GelLaw

SHORT_STEP_S, LONG_STEP_S = 4.0, 60.0
STEP_K = 0.8
"""Own heat of one step."""
LONGEST_S = 24.0 * 3600.0
FALLEN_K = 1.0
"""A laminate this far below its peak has passed it."""
DONE = 0.999
HOTTEST_K = 473.15
"""200 degC: beyond it no number of this law means anything."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Wall:
    """Laminate and form, per m2."""

    laminate_j_per_m2k: float
    form_j_per_m2k: float
    loss_top_w_per_m2k: float
    loss_back_w_per_m2k: float
    contact_w_per_m2k: float
    heat_j_per_m2: float
    """Of a full cure."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Peak:
    """The hottest moment of the laminate."""

    temp_k: float
    at_s: float


def peak_of(
    law: GelLaw,
    dose_percent: float,
    wall: Wall,
    start_k: tuple[float, float],
    shop_k: float,
    conversion: float = 0.0,
) -> Peak:
    """Let a part cure in a room of one temperature and give its hottest moment after the gel.

    `start_k` is laminate and form at mixing, `conversion` what had reacted by then. A part that
    never warms beyond them peaks at its start.
    """
    peak = Peak(temp_k=start_k[0], at_s=0.0)
    for at_s, laminate_k, alpha in _course(law, dose_percent, wall, start_k, shop_k, conversion):
        if laminate_k > peak.temp_k:
            peak = Peak(temp_k=min(laminate_k, HOTTEST_K), at_s=at_s)
        elif alpha > law.gel_conversion and peak.temp_k - laminate_k > FALLEN_K:
            break
    return peak


def gels_after_s(
    law: GelLaw, dose_percent: float, wall: Wall, start_k: tuple[float, float], shop_k: float
) -> float:
    """Seconds from mixing to the gel of what warms itself as `peak_of` has it; inf where never."""
    for at_s, _, alpha in _course(law, dose_percent, wall, start_k, shop_k, 0.0):
        if alpha >= law.gel_conversion:
            return at_s
    return math.inf


def _course(
    law: GelLaw,
    dose_percent: float,
    wall: Wall,
    start_k: tuple[float, float],
    shop_k: float,
    conversion: float,
) -> Iterator[tuple[float, float, float]]:
    """Go on step by step: time, laminate and conversion."""
    laminate_k, form_k = start_k
    alpha, at_s, gain, step_s = conversion, 0.0, 0.0, LONG_STEP_S
    waited = 0.0 if law.reference_percent > 0.0 else 1.0
    while at_s < LONGEST_S and alpha < DONE and laminate_k < HOTTEST_K:
        step_s = _step_s(wall, gain, step_s)
        if waited < 1.0:
            wait_s = law.induction_s(laminate_k, dose_percent)
            waited += step_s / wait_s if wait_s > 0.0 else 1.0
        else:
            half = alpha + 0.5 * step_s * law.speed_per_s(alpha, laminate_k, dose_percent)
            gain = step_s * law.speed_per_s(min(half, 1.0), laminate_k, dose_percent)
            gain = min(gain, 1.0 - alpha)
            alpha += gain
        laminate_k, form_k = _warmed(wall, laminate_k, form_k, shop_k, gain, step_s)
        at_s += step_s
        yield at_s, laminate_k, alpha


def _step_s(wall: Wall, gain: float, last_s: float) -> float:
    """Step short where the heat of the last step would warm the laminate by much."""
    warmed_k = wall.heat_j_per_m2 * gain / wall.laminate_j_per_m2k
    return min(max(last_s * 0.6 * STEP_K / max(warmed_k, 1e-9), SHORT_STEP_S), LONG_STEP_S)


def _warmed(
    wall: Wall, laminate_k: float, form_k: float, shop_k: float, gain: float, step_s: float
) -> tuple[float, float]:
    store_l, store_f = wall.laminate_j_per_m2k / step_s, wall.form_j_per_m2k / step_s
    h = wall.contact_w_per_m2k
    a = store_l + wall.loss_top_w_per_m2k + h
    d = store_f + wall.loss_back_w_per_m2k + h
    b_l = store_l * laminate_k + wall.heat_j_per_m2 * gain / step_s
    b_l += wall.loss_top_w_per_m2k * shop_k
    b_f = store_f * form_k + wall.loss_back_w_per_m2k * shop_k
    determinant = a * d - h * h
    return (b_l * d + h * b_f) / determinant, (b_f * a + h * b_l) / determinant
