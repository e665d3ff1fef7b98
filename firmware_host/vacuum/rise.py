"""How fast an isolated bag loses vacuum, how much of that is air leaking in, and how sure we are.

A straight line alone calls wet cloth a hole. The rise is therefore read as

    p(t) = p0 + r t + A1 (1 - e^(-t/tau1)) + A2 (1 - e^(-t/tau2))
           + h p dT/T + v (psat(T) - psat(T0))

leak r, two transients of settling and outgassing, warming gas, resin vapour; every amplitude at
least 0. The time constants are not fitted but summed over, log-uniform from 6 s to 15 min (to an
hour, where a leak is about to be called early): a transient slower than the test cannot be told
from a leak by its shape, and then the interval must say so. The noise is white plus a random walk
of 1 Pa2/s, which stands for gauge wander and for outgassing that is neither one exponential nor
two.

Pure: block means in, an interval out. Bounded work: at most 64 blocks, 120 pairs of time constants.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from firmware_host.physics.gas import styrene_pressure_pa
from firmware_host.physics.quasirandom import normal_points
from firmware_host.vacuum.isolation import Span

Array = npt.NDArray[np.float64]

WALK_PA2_PER_S = 1.0


@dataclass(frozen=True, slots=True)
class Settling:
    """How slow and how large transients are taken to be."""

    tau_s: tuple[float, ...]
    """Time constants, log-uniform."""
    amplitude_pa: float
    """Scale of the half-normal prior of each amplitude."""


USUAL = Settling(tuple(float(x) for x in np.geomspace(6.0, 900.0, 16)), 3000.0)
"""Settling of small bags; ours, from simulated and logged bags."""
SLOW = Settling(tuple(float(x) for x in np.geomspace(6.0, 3600.0, 12)), 6000.0)
"""Wet cloth and foam that give off gas for an hour, as straight as a leak over minutes."""
SHARE_SCALE = 0.35
"""Share of the gas that warms with the laminate, and of saturation that resin vapour reaches."""
LEAST_WARMING_K = 0.7
DRAWS = 192
CHANCE_OF_NO_TRANSIENT = 0.1
"""A bag that does not settle at all is rare; common practice, no source."""
Family = tuple[tuple[int, ...], ...]
"""Models of one size, each the indices of its time constants."""
LEAST_SPAN_S = 12.0
HIGHEST_STRAIGHT_PA = 50000.0
"""Above about half an atmosphere a leak slows down; readings beyond are left out."""
HIGHEST_USED_PA = 80000.0
"""Where too little lies below, up to here; beyond, even a torn bag shows no rise."""
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
    chance_above_limit_if_slow: float
    """The same, if settling may be as slow and as large as wet foam makes it."""
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
    columns = _extra_columns(span, pressure)
    data = _Readings(time_s - time_s[0], pressure, count, span.noise_pa, columns)
    rise, weight = _posterior(data, USUAL)
    order = np.argsort(rise)
    cumulated = np.cumsum(weight[order]) / np.sum(weight)
    low, middle, high = (
        float(rise[order[min(int(np.searchsorted(cumulated, q)), len(rise) - 1)]])
        for q in (0.025, 0.5, 0.975)
    )
    return RiseEstimate(
        rise_pa_per_s=middle,
        low_pa_per_s=low,
        high_pa_per_s=high,
        chance_above_limit=_chance_above(limit_pa_per_s, rise, weight),
        chance_above_limit_if_slow=_chance_above(limit_pa_per_s, *_posterior(data, SLOW)),
        whole=whole,
    )


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
    first_pa = span.pressure_pa[0]
    top = next(
        (i for i, p in enumerate(span.pressure_pa) if p > HIGHEST_USED_PA), len(span.time_s) - 1
    )
    if top == 0 or span.pressure_pa[top] - first_pa < GROSS_RISE_PA:
        return None
    rise = (span.pressure_pa[top] - first_pa) / (span.time_s[top] - span.time_s[0])
    above = 1.0 if rise / 2.0 > limit_pa_per_s else 0.5
    return RiseEstimate(
        rise_pa_per_s=rise,
        low_pa_per_s=rise / 2.0,
        high_pa_per_s=rise * 4.0,
        chance_above_limit=above,
        chance_above_limit_if_slow=above,
        whole=LineFit(rise_pa_per_s=rise, rise_stderr_pa_per_s=rise / 4.0),
    )


def _extra_columns(span: Span, pressure: Array) -> list[Array]:
    """Warming gas and resin vapour, where the laminate's temperature moved enough to matter."""
    known = [t for t in span.temp_k[: len(pressure)] if t is not None]
    if len(known) < len(pressure) or max(known) - min(known) < LEAST_WARMING_K:
        return []
    temp = np.array(known)
    return [
        pressure * (temp - temp[0]) / temp[0],
        styrene_pressure_pa(temp) - styrene_pressure_pa(temp[:1]),
    ]


def _whitener(time_s: Array, count: Array, noise_pa: float) -> Array:
    """Inverse Cholesky factor of the covariance of the block means."""
    walk = WALK_PA2_PER_S * np.minimum(time_s[:, None], time_s[None, :])
    covariance = walk + np.diag(noise_pa**2 / count)
    return np.linalg.inv(np.linalg.cholesky(covariance))


@dataclass(frozen=True, slots=True)
class _Readings:
    time_s: Array
    pressure_pa: Array
    count: Array
    noise_pa: float
    extra: list[Array]


def _families(size: int) -> tuple[Family, ...]:
    singles = tuple((i,) for i in range(size))
    pairs = tuple((i, j) for i in range(size) for j in range(i + 1, size))
    return ((),), singles, pairs


def _posterior(data: _Readings, settling: Settling) -> tuple[Array, Array]:
    """Weighted draws of the leak rate over all pairs of time constants."""
    time_s = data.time_s
    white = _whitener(time_s, data.count, data.noise_pa)
    base = np.stack([np.ones_like(time_s), time_s, *data.extra], axis=1)
    transients = np.stack([1.0 - np.exp(-time_s / tau) for tau in settling.tau_s], axis=1)
    target = white @ data.pressure_pa
    draws = [
        _draw(white, base, transients, family, settling.amplitude_pa, target)
        for family in _families(len(settling.tau_s))
    ]
    rise = np.concatenate([rate for rate, _ in draws])
    log_weight = np.concatenate([log for _, log in draws])
    if not len(rise):  # the pressure fell throughout: no leak, as sure as the noise allows
        line = _draw_line(white, base[:, :2])
        return line, np.ones_like(line)
    return rise, np.exp(log_weight - np.max(log_weight))


def _draw(
    white: Array,
    base: Array,
    transients: Array,
    family: Family,
    amplitude_pa: float,
    target: Array,
) -> tuple[Array, Array]:
    """Gaussian posterior of each model of a family, drawn and cut to amplitudes of at least 0."""
    amplitudes = len(family[0])
    design = np.stack(
        [white @ np.concatenate([base, transients[:, list(k)]], axis=1) for k in family]
    )
    shares = base.shape[1] - 2
    prior = [0.0, 0.0, *[SHARE_SCALE**-2] * shares, *[amplitude_pa**-2] * amplitudes]
    precision = np.diag(prior)
    covariance = np.linalg.inv(np.einsum("kij,kil->kjl", design, design) + precision)
    projected = np.einsum("kij,i->kj", design, target)
    mean = np.einsum("kij,kj->ki", covariance, projected)
    misfit = target @ target - np.einsum("kj,kj->k", mean, projected)
    factor = np.linalg.cholesky(covariance[:, 1:, 1:])
    shifts = np.einsum("ds,kts->kdt", normal_points(DRAWS, factor.shape[1]), factor)
    drawn = mean[:, None, 1:] + shifts
    held = np.all(drawn >= 0.0, axis=2)
    occam = amplitudes * np.log(2.0 / amplitude_pa) - np.log(len(family))
    if not amplitudes:
        occam = np.log(CHANCE_OF_NO_TRANSIENT)
    log_model = occam - 0.5 * misfit + 0.5 * np.linalg.slogdet(covariance)[1]
    return drawn[:, :, 0][held], np.broadcast_to(log_model[:, None], held.shape)[held]


def _draw_line(white: Array, line: Array) -> Array:
    """Leak rates that a falling pressure leaves possible: the noise of the slope, about 0."""
    design = white @ line
    covariance = np.linalg.inv(design.T @ design)
    return np.asarray(np.abs(normal_points(DRAWS, 1)[:, 0]) * covariance[1, 1] ** 0.5)
