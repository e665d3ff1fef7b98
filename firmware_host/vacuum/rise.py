"""How fast an isolated bag loses vacuum, how much of that is air leaking in, and how sure we are.

A straight line alone calls wet cloth a hole. The rise is therefore read as

    p(t) = p0 + r t + g max(t - t_on, 0) or g t^2 / 2T + A1 (1 - e^(-t/tau1)) + A2 (1 - e^(-t/tau2))
           + h p dT/T + v (psat(T) - psat(T0)) + level steps

a leak r that may grow by g on the way, up to two transients of settling and outgassing, warming
gas, resin vapour; every amplitude at least 0. A level that jumps between two blocks and rises as
before is gas that was shared, or a bumped gauge, and no leak. `shapes.py` says what is taken for
likely, `mixture.py` sums over it.

Pure: block means in, an interval out. Bounded work: at most 64 blocks, some hundred small models.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from firmware_host.physics.gas import styrene_pressure_pa
from firmware_host.physics.quasirandom import normal_points
from firmware_host.vacuum.isolation import Span
from firmware_host.vacuum.mixture import (
    GROWTH_SCALES,
    Readings,
    draw,
    line_error_pa_per_s,
)
from firmware_host.vacuum.onset import onsets
from firmware_host.vacuum.shapes import Array

LEAST_WARMING_K = 0.7
INTERVAL = 0.95
TAILS = np.linspace(0.0, 1.0 - INTERVAL, 21)[1:-1]
SCALE_SHARE, UNSEEN_SHARE = 0.04, 0.2
"""A crack bends by 5 % over an inch of mercury, a gauge's span is off by 1 %; what leaked after the
bag was full, nobody saw. One standard deviation, of the leak."""
DRIFT_PA_PER_S = 0.1
"""Of gauge and barometer: 1 hPa an hour is 0.028, a gauge that warms by 5 K in it up to 0.07; and
of outgassing that bends otherwise than any of the models."""
SURE_RISE_ERRORS = 5.0
SCATTER = 499
"""Prime, so that no two models share the same scatter."""
FORGOTTEN = 14.0
"""A draw this far below the best in log weight adds nothing."""
STEP_SIGMAS, STEP_TIMES, LEAST_STEP_PA = 8.0, 4.0, 60.0
MOST_STEPS = 3
LEAST_SPAN_S = 12.0
HIGHEST_STRAIGHT_PA = 50000.0
"""Above about half an atmosphere a leak slows down; readings beyond are left out."""
HIGHEST_USED_PA = 80000.0
"""Where too little lies below, up to here; beyond, even a torn bag shows no rise."""
BURSTS = 1.5
"""A last block that rises by so much more than the blocks before allow was no part of them."""
GROSS_RISE_PA = 20000.0
"""A rise within seconds that no settling makes: several times the resin vapour and wet cloth."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LineFit:
    """Straight line through a span, by weighted least squares."""

    rise_pa_per_s: float
    rise_stderr_pa_per_s: float


@dataclass(frozen=True, slots=True, kw_only=True)
class RiseEstimate:
    """The leak part of the rise, with its 95 % interval."""

    rise_pa_per_s: float
    low_pa_per_s: float
    high_pa_per_s: float
    chance_above_limit: float
    whole: LineFit


def fit_line(time_s: Array, pressure_pa: Array, weight: Array, noise_pa: float) -> LineFit:
    """Fit the whole rise: slope and its standard error.

    `weight` is the number of readings behind each block mean, `noise_pa` the standard deviation
    of one reading. slope = S_tp / S_tt, stderr = noise / sqrt(S_tt). Raises ValueError with fewer
    than two distinct times.

    >>> line = fit_line(np.arange(3.0), np.array([10.0, 12.0, 14.0]), np.ones(3), 1.0)
    >>> line.rise_pa_per_s
    2.0
    """
    mean_t = np.average(time_s, weights=weight)
    spread = float(np.sum(weight * (time_s - mean_t) ** 2))
    if spread <= 0.0:
        raise ValueError("a line needs readings at two different times")
    slope = float(np.sum(weight * (time_s - mean_t) * pressure_pa)) / spread
    return LineFit(rise_pa_per_s=slope, rise_stderr_pa_per_s=noise_pa / spread**0.5)


def estimate_rise(span: Span, limit_pa_per_s: float) -> RiseEstimate | None:
    """Split the rise of a span and weigh its leak part against a limit.

    None while the span is shorter than 12 s or holds fewer than four blocks, and where the bag
    was near room pressure from the start.
    """
    blocks = _straight_blocks(span)
    if blocks == 0:
        return _gross_rise(span, limit_pa_per_s)
    time_s, pressure, count = (
        np.array(x[:blocks], dtype=np.float64)
        for x in (span.time_s, span.pressure_pa, span.samples)
    )
    whole = fit_line(time_s, pressure, count, span.noise_pa)
    step, whole_step = _level_steps(pressure, count, span.noise_pa)
    since_s = time_s - time_s[0]
    variance = span.noise_pa**2 / count
    steepest = float(np.max(np.abs(np.diff(pressure) / np.diff(time_s))))
    readings = Readings(
        time_s=since_s[whole_step],
        pressure_pa=pressure[whole_step],
        count=count[whole_step],
        noise_pa=span.noise_pa,
        known=_known_columns(span, pressure)[whole_step],
        steps=step[whole_step],
        onset_s=onsets(since_s[whole_step], pressure[whole_step], variance[whole_step]),
        end_s=span.time_s[-1] - span.time_s[0],
        growth_scale_pa_per_s=GROWTH_SCALES * (limit_pa_per_s + steepest),
    )
    rise, weight = _leak(readings, limit_pa_per_s)
    low, middle, high = _interval(rise, weight)
    burst = _burst(span, blocks, limit_pa_per_s)
    if burst is not None and burst.rise_pa_per_s > BURSTS * high:
        return burst
    return RiseEstimate(
        rise_pa_per_s=middle,
        low_pa_per_s=low,
        high_pa_per_s=high,
        chance_above_limit=_chance_above(limit_pa_per_s, rise, weight),
        whole=whole,
    )


def _leak(readings: Readings, limit_pa_per_s: float) -> tuple[Array, Array]:
    """Leaks in rising order, and their weights.

    Beforehand a leak r has the density 1 / (1 + r / limit): most bags are about tight, and leaks
    above the limit span orders of magnitude.
    """
    draws = draw(readings)
    if not len(draws.rise_pa_per_s):
        return _beyond_all_models(readings)
    log_weight = draws.log_weight - np.log1p(draws.rise_pa_per_s / limit_pa_per_s)
    weight = np.exp(log_weight - np.max(log_weight))
    kept = np.flatnonzero(weight > np.exp(-FORGOTTEN))
    rise = _with_what_no_model_knows(draws.rise_pa_per_s[kept], readings)
    order = np.argsort(rise)
    return rise[order], weight[kept][order]


def _beyond_all_models(readings: Readings) -> tuple[Array, Array]:
    """Judge by the two ends: a fall is no leak, as sure as the noise allows; a rise is one."""
    rise = float(readings.pressure_pa[-1] - readings.pressure_pa[0]) / float(readings.time_s[-1])
    error = line_error_pa_per_s(readings)
    if rise > SURE_RISE_ERRORS * error:
        spread = np.linspace(-3.0, 3.0, 200)
        return rise * np.exp(0.5 * spread), np.exp(-0.5 * spread**2)
    line = np.linspace(0.0, 3.5, 200)
    return line * max(error, rise), np.exp(-0.5 * line**2)


def _with_what_no_model_knows(rise: Array, readings: Readings) -> Array:
    """Add the gauge's scale and drift and a leak that bends; more where the bag was soon full."""
    unseen = 1.0 - float(readings.time_s[-1]) / readings.end_s
    scale = SCALE_SHARE + UNSEEN_SHARE * unseen
    points = normal_points(SCATTER, 2)[np.arange(len(rise)) % SCATTER]
    return np.maximum(rise * (1.0 + scale * points[:, 0]) + DRIFT_PA_PER_S * points[:, 1], 0.0)


def _interval(rise: Array, weight: Array) -> tuple[float, float, float]:
    """Low end, median and high end; of all intervals of 95 % the shortest.

    So an interval whose low end is no less likely than anything above it reaches down to 0: a tight
    bag is at the edge of what is possible.
    """
    cumulated = np.cumsum(weight) / np.sum(weight)

    def quantile(share: Array) -> Array:
        return rise[np.minimum(np.searchsorted(cumulated, share), len(rise) - 1)]

    low = np.concatenate([[0.0], quantile(TAILS)])
    high = quantile(np.concatenate([[INTERVAL], TAILS + INTERVAL]))
    best = int(np.argmin(high - low))
    return float(low[best]), float(quantile(np.array(0.5))), float(high[best])


def _level_steps(pressure: Array, count: Array, noise_pa: float) -> tuple[Array, Array]:
    """Find blocks across which the level jumps while it is calm on both sides.

    Gives a column for each jump, and which blocks are whole: the one in which it happens is none.
    """
    whole = np.ones(len(pressure), dtype=bool)
    columns: list[Array] = []
    across = pressure[2:] - pressure[:-2]
    error = noise_pa * (1.0 / count[2:] + 1.0 / count[:-2]) ** 0.5
    for i in range(2, len(across) - 2):
        beside = max(abs(across[i - 2]), abs(across[i + 2]))
        least = max(STEP_SIGMAS * error[i] + STEP_TIMES * beside, LEAST_STEP_PA)
        if abs(across[i]) > least and abs(across[i]) >= np.max(np.abs(across[i - 2 : i + 3])):
            whole[i + 1] = False
            columns.append((np.arange(len(pressure)) > i + 1).astype(np.float64))
    if len(columns) > MOST_STEPS:
        return np.zeros((len(pressure), 0)), np.ones(len(pressure), dtype=bool)
    return np.array(columns).reshape(len(columns), len(pressure)).T, whole


def _chance_above(limit_pa_per_s: float, rise: Array, weight: Array) -> float:
    return float(np.sum(weight[rise > limit_pa_per_s]) / np.sum(weight))


def _straight_blocks(span: Span) -> int:
    """Count the leading blocks through which a leak is a line; 0 where they are too few."""
    for highest_pa in (HIGHEST_STRAIGHT_PA, HIGHEST_USED_PA):
        kept = next((i for i, p in enumerate(span.pressure_pa) if p > highest_pa), len(span.time_s))
        if kept >= 4 and span.time_s[kept - 1] - span.time_s[0] >= LEAST_SPAN_S * 0.8:
            return kept
    return 0


def _gross_rise(span: Span, limit_pa_per_s: float) -> RiseEstimate | None:
    """Judge a bag that fills before a line can be fitted, by its two ends alone."""
    time_s, pressure = span.time_s, span.pressure_pa
    if span.pumped is not None and pressure[0] > HIGHEST_STRAIGHT_PA:
        time_s, pressure = (span.pumped[0], *time_s), (span.pumped[1], *pressure)
    top = next((i for i, p in enumerate(pressure) if p > HIGHEST_USED_PA), len(time_s) - 1)
    if top == 0 or pressure[top] - pressure[0] < GROSS_RISE_PA:
        return None
    return _roughly((pressure[top] - pressure[0]) / (time_s[top] - time_s[0]), limit_pa_per_s)


def _burst(span: Span, blocks: int, limit_pa_per_s: float) -> RiseEstimate | None:
    """Judge a bag that was sound and then filled within a block, averaged over the test."""
    if blocks == len(span.time_s) or span.pressure_pa[blocks] < span.pressure_pa[0] + GROSS_RISE_PA:
        return None
    last_s = span.time_s[blocks - 1]
    filling = (span.pressure_pa[blocks] - span.pressure_pa[blocks - 1]) / (
        span.time_s[blocks] - last_s
    )
    return _roughly(filling * (1.0 - last_s / (span.end_s - span.start_s)), limit_pa_per_s)


def _roughly(rise_pa_per_s: float, limit_pa_per_s: float) -> RiseEstimate:
    """Give a rise that is known within a few times: a bag that fills bends, and hides how fast."""
    above = 1.0 if rise_pa_per_s / 2.0 > limit_pa_per_s else 0.5
    return RiseEstimate(
        rise_pa_per_s=rise_pa_per_s,
        low_pa_per_s=rise_pa_per_s / 2.0,
        high_pa_per_s=rise_pa_per_s * 4.0,
        chance_above_limit=above,
        whole=LineFit(rise_pa_per_s=rise_pa_per_s, rise_stderr_pa_per_s=rise_pa_per_s / 4.0),
    )


def _known_columns(span: Span, pressure: Array) -> Array:
    """Warming gas and resin vapour, where the laminate's temperature moved enough to matter."""
    known = [t for t in span.temp_k[: len(pressure)] if t is not None]
    if len(known) < len(pressure) or max(known) - min(known) < LEAST_WARMING_K:
        return np.zeros((len(pressure), 0))
    temp = np.array(known)
    return np.stack(
        [
            pressure * (temp - temp[0]) / temp[0],
            styrene_pressure_pa(temp) - styrene_pressure_pa(temp[:1]),
        ],
        axis=1,
    )
