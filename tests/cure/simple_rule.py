"""The simple rule that the bank is held against: a clock, a rise, and how much heat has come.

No filter: the clock runs on the measured temperature, a rise above the shop is a kick, and one
that stops early has died. Its sides are those of a clock that is known to `hypot(sd, 0.20)` in
its logarithm, five and a half minutes of detecting left out.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache

import numpy as np
import numpy.typing as npt

from tests.cure.unlike import Array, run
from tests.cure.unlike_jobs import Story, file_of, nominal

MODEL_SD, LAG_S = 0.20, 330.0
LATE_SD, STALL_SD = 1.645, 2.33
ONSET_K, ONSET_S = 1.5, 180.0
ZERO_S, MEAN_S, HEAT_MEAN_S = 600.0, 300.0, 600.0
STOPPED_SHARE, STOPPED_AFTER_S, SPENT_SHARE = 0.15, 600.0, 0.40
FALL_SHARE, FALL_LEAST_K, FALL_FROM_K, FALL_S = 0.35, 1.5, 3.0, 60.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Ruled:
    """What the rule said of one part."""

    onset: bool
    late: bool
    stalled: bool
    died: bool
    off: bool


@cache
def onset_clock(law: str) -> float:
    """Clock at which the middle batch shows its kick, in lives of the file's inhibitor."""
    course = run(nominal(law), 12000.0)
    at_s = course.time_s[np.argmax(course.laminate_k - course.shop_k > ONSET_K)]
    speed = math.exp(52e3 / 8.314462618 * (1.0 / 298.15 - 1.0 / 294.15))
    return float(at_s) * speed / (60.0 * float(str(file_of(law)["induction_min"])))


def rule(told: Story, onset_at: float) -> Ruled:
    """Judge a log by the rule; `onset_at` is the clock at which the middle batch shows its kick."""
    rows = told.rows[told.rows[:, 0] >= 300.0]
    time_s, part_k = rows[:, 0] - rows[0, 0], rows[:, 1]
    shop_k = rows[:, 1 + told.draw.couples.index("shop")]
    every_s = float(time_s[1])
    raw = part_k - shop_k
    raw = raw - np.mean(raw[time_s <= ZERO_S])
    rise = _smooth(raw, MEAN_S / every_s)
    warm = _lasting(rise > ONSET_K, ONSET_S / every_s)
    onset = float(time_s[np.argmax(warm)]) if np.any(warm) else math.inf
    life_s = told.job.resin.induction_min_at_25c * 60.0
    per_k = 1000.0 * told.job.resin.induction_activation_kj_per_mol / 8.314462618
    ticks = np.exp(per_k * (1.0 / 298.15 - 1.0 / part_k)) * every_s / life_s
    clock = np.cumsum(ticks) / onset_at
    total_sd = math.hypot(told.job.resin.ln_rate_sd, MODEL_SD)
    fallen_s = time_s[_off(raw, every_s)]
    died_s = _died(told, time_s, rise, onset)
    off_s = float(fallen_s[0]) if len(fallen_s) else math.inf
    return Ruled(
        onset=onset < math.inf,
        late=_passes(time_s, clock, math.exp(LATE_SD * total_sd)) + LAG_S < onset,
        stalled=_passes(time_s, clock, math.exp(STALL_SD * total_sd)) + LAG_S < onset,
        died=died_s < off_s,
        off=off_s < math.inf,
    )


def _smooth(values: Array, count: float) -> Array:
    """Mean of the last so many."""
    n = max(round(count), 1)
    total = np.cumsum(np.concatenate([np.full(n, values[0]), values]))
    return np.asarray((total[n:] - total[:-n]) / n)


def _lasting(mask: npt.NDArray[np.bool_], count: float) -> npt.NDArray[np.bool_]:
    return np.asarray(_smooth(mask.astype(np.float64), count) > 0.999)


def _passes(time_s: Array, clock: Array, level: float) -> float:
    past = clock >= level
    return float(time_s[np.argmax(past)]) if np.any(past) else math.inf


def _died(told: Story, time_s: Array, rise: Array, onset_s: float) -> float:
    """When the heat had stopped, well short of what the resin holds."""
    laminate = told.job.laminate
    kg = laminate.density_kg_per_m3 * laminate.thickness_mm / 1000.0
    store = kg * laminate.specific_heat_j_per_kgk + 1000.0 * laminate.mould_heat_kj_per_m2k
    loss = laminate.loss_top_w_per_m2k + laminate.loss_back_w_per_m2k
    heat = store * np.gradient(rise, time_s) + loss * rise
    heat = _smooth(heat, HEAT_MEAN_S / float(time_s[1]))
    most = np.maximum.accumulate(heat)
    made = np.cumsum(np.maximum(heat, 0.0)) * float(time_s[1])
    whole = 1000.0 * told.job.resin.heat_of_cure_kj_per_kg * kg * laminate.resin_mass_fraction
    stopped = heat < STOPPED_SHARE * most
    dead = stopped & (time_s > onset_s + STOPPED_AFTER_S) & (made < SPENT_SHARE * whole)
    return float(time_s[np.argmax(dead)]) if np.any(dead) else math.inf


def _off(raw: Array, every_s: float) -> Array:
    """Where a rise falls faster than a laminate can."""
    step = max(round(FALL_S / every_s), 1)
    before = np.concatenate([np.zeros(step), raw[:-step]])
    fall = before - raw
    enough = np.maximum(FALL_SHARE * before, FALL_LEAST_K)
    return np.asarray((before > FALL_FROM_K) & (fall > enough))
