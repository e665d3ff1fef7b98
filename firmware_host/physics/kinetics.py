"""Cure kinetics of a job description: an inhibitor clock, then autocatalytic growth.

    dZ/dt     = 1 / t_ind(T, dose)                       inhibitor is gone at Z = 1
    t_ind     = t25 (dose/ref)^-p exp[(E_i/R)(1/T - 1/T25)]
    d(alpha)/dt = k (seed + alpha^m) (1 - alpha)^n f(alpha, T)      from Z = 1 on
    k         = k25 (dose/ref)^q exp[-(E_k/R)(1/T - 1/T25)]
    f         = 1 / (1 + exp[50 (alpha - limit(T) + 0.05)])         diffusion throttle

Everything is an array over a population, so that a whole bank of possible batches moves in one
step. The throttle has the form of Chern & Poehlein, Polym. Eng. Sci. 27 (1987) 788; its steepness
and its offset are ours: the limit is where the cure has practically stopped, so the half-way point
lies a little below. With seed > 0 the growth is that of Kamal & Sourour, Polym. Eng. Sci. 13
(1973) 59, k1 = k seed and k2 = k.
"""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from typing import Any, TypeAlias

import numpy as np
import numpy.typing as npt

Array: TypeAlias = npt.NDArray[np.float64]
Members: TypeAlias = npt.NDArray[np.intp]

GAS_CONSTANT_J_PER_MOLK = 8.31446261815324
"""Exact since the SI of 2019."""
T25_K = 298.15
T20_K = 293.15
THROTTLE_STEEPNESS = 50.0
THROTTLE_OFFSET = 0.05
LARGEST_RATE_STEP = 0.05
"""k h of one Runge-Kutta step; at 0.2 the first step out of alpha = 0 costs 2e-4 in conversion."""
HELD_RATE_STEP = 0.3
LARGEST_TEMPERATURE_STEP_K = 2.0
LONGEST_STEP_S = 60.0


def arrhenius_factor(
    activation_j_per_mol: Array | float, temp_k: Array | float, reference_k: float
) -> Array:
    """Rate at a temperature over the rate at the reference.

    exp[-(E/R)(1/T - 1/Tref)]; T in K, above 0.

    >>> round(float(arrhenius_factor(55000.0, 303.15, 293.15)), 10)
    2.1050865498
    """
    spread = 1.0 / np.asarray(temp_k, dtype=np.float64) - 1.0 / reference_k
    return np.exp(-np.asarray(activation_j_per_mol) / GAS_CONSTANT_J_PER_MOLK * spread)


@dataclass(frozen=True, slots=True, kw_only=True)
class Kinetics:
    """Constants of a population of batches; every field is an array of the same length."""

    induction_per_s: Array
    """1 / t_ind at 25 degC and the job's dose; infinite where nothing has to burn away."""
    induction_j_per_mol: Array
    rate_per_s: Array
    """k at 25 degC and the job's dose."""
    rate_j_per_mol: Array
    seed: Array
    order_m: Array
    order_n: Array
    limit_at_20c: Array
    limit_per_k: Array
    throttled: bool = True
    """False leaves the diffusion throttle out; published sets have none."""
    steepness: float | Array = THROTTLE_STEEPNESS
    """Of the throttle, per unit of conversion."""

    def __post_init__(self) -> None:
        if not np.all(self.seed > 0.0):
            raise ValueError("seed must be above 0: without it a reaction with m > 0 never starts")


@dataclass(frozen=True, slots=True)
class Progress:
    """Where each batch stands."""

    inhibitor: Array
    """Z; 0 at mixing, growth begins at 1."""
    conversion: Array
    """alpha; 0 until then."""


def at_mixing(kinetics: Kinetics) -> Progress:
    """Nothing has happened yet."""
    zero = np.zeros_like(kinetics.rate_per_s)
    return Progress(zero, zero.copy())


def conversion_rate_per_s(kinetics: Kinetics, conversion: Array, temp_k: Array | float) -> Array:
    """d(alpha)/dt of the growth; see the module for the law."""
    return _grown_per_s(kinetics, conversion, *_at_temperature(kinetics, temp_k))


def _at_temperature(kinetics: Kinetics, temp_k: Array | float) -> tuple[Array, Array]:
    """Rate and conversion limit of each batch at a temperature."""
    rate = kinetics.rate_per_s * arrhenius_factor(kinetics.rate_j_per_mol, temp_k, T25_K)
    limit = kinetics.limit_at_20c + kinetics.limit_per_k * (np.asarray(temp_k) - T20_K)
    return rate, np.asarray(limit)


def _grown_per_s(kinetics: Kinetics, conversion: Array, rate_per_s: Array, limit: Array) -> Array:
    grown = (
        rate_per_s
        * (kinetics.seed + np.maximum(conversion, 0.0) ** kinetics.order_m)
        * np.maximum(1.0 - conversion, 0.0) ** kinetics.order_n
    )
    if not kinetics.throttled:
        return np.asarray(grown)
    beyond = kinetics.steepness * (conversion - limit + THROTTLE_OFFSET)
    return np.asarray(grown / (1.0 + np.exp(np.minimum(beyond, 60.0))))


def induction_gain(
    kinetics: Kinetics, start_k: Array | float, end_k: Array | float, span_s: float
) -> Array:
    """Growth of Z while the temperature goes in a straight line from start to end.

    Three-point Gauss-Legendre: relative error 7e-14 for 1 K, 4e-10 for 5 K. Where start and end are
    one and the same, one point is exact.
    """
    if start_k is end_k:
        steady = arrhenius_factor(kinetics.induction_j_per_mol, start_k, T25_K)
        return np.asarray(kinetics.induction_per_s * steady * span_s)
    middle = 0.5 * (np.asarray(start_k) + np.asarray(end_k))
    reach = 0.5 * (np.asarray(end_k) - np.asarray(start_k)) * 0.7745966692414834
    e = kinetics.induction_j_per_mol
    mean = (
        5.0 * arrhenius_factor(e, middle - reach, T25_K)
        + 8.0 * arrhenius_factor(e, middle, T25_K)
        + 5.0 * arrhenius_factor(e, middle + reach, T25_K)
    ) / 18.0
    return np.asarray(kinetics.induction_per_s * mean * span_s)


def advance(
    kinetics: Kinetics,
    progress: Progress,
    start_k: Array | float,
    end_k: Array | float,
    span_s: float,
    in_pieces: int | None = None,
) -> Progress:
    """Move every batch through a span in which the temperature goes in a straight line.

    Long or steep spans are split: at most 60 s, 2 K and k h = 0.05 a step, where k is that of the
    fastest batch. With `in_pieces` the number is given instead, and a batch that is too fast for it
    is held at k h = 0.3: it ends a few steps late, and the others wait for nobody. The growth is
    stepped by the classical fourth-order Runge-Kutta rule, the inhibitor clock by Gauss-Legendre.
    Raises ValueError for a span that runs backwards.
    """
    if span_s < 0.0:
        raise ValueError(f"time runs backwards by {-span_s} s; conversion cannot")
    first = np.asarray(start_k, dtype=np.float64)
    slope = np.asarray(end_k, dtype=np.float64) - first
    pieces = in_pieces or _pieces(
        kinetics, progress, np.maximum(first, first + slope), slope, span_s
    )
    held_at = HELD_RATE_STEP if in_pieces else np.inf
    for i in range(pieces):
        progress = _step(
            kinetics,
            progress,
            first + slope * (i / pieces),
            first + slope * ((i + 1) / pieces),
            span_s / pieces,
            held_at,
        )
    return progress


def _pieces(
    kinetics: Kinetics, progress: Progress, hottest_k: Array, slope_k: Array, span_s: float
) -> int:
    need = max(span_s / LONGEST_STEP_S, float(np.max(np.abs(slope_k))) / LARGEST_TEMPERATURE_STEP_K)
    if np.any(progress.inhibitor >= 1.0) or span_s > 10.0:
        k = kinetics.rate_per_s * arrhenius_factor(kinetics.rate_j_per_mol, hottest_k, T25_K)
        need = max(need, float(np.max(k)) * span_s / LARGEST_RATE_STEP)
    return max(1, int(np.ceil(need)))


def _step(
    kinetics: Kinetics,
    progress: Progress,
    start_k: Array,
    end_k: Array,
    span_s: float,
    held_at: float,
) -> Progress:
    after, grown_s = progress.inhibitor, np.full_like(progress.inhibitor, span_s)
    waiting = np.flatnonzero(after < 1.0)
    if len(waiting):
        after, grown_s[waiting] = _clock(kinetics, after, waiting, (start_k, end_k), span_s)
    growing = np.flatnonzero(after >= 1.0)
    if not len(growing):
        return Progress(after, progress.conversion)
    conversion = progress.conversion.copy()
    conversion[growing] = _grow(
        _batches(kinetics, growing),
        conversion[growing],
        _of(start_k, growing),
        _of(end_k, growing),
        grown_s[growing],
        held_at / span_s,
    )
    return Progress(after, conversion)


def _clock(
    kinetics: Kinetics,
    inhibitor: Array,
    waiting: Members,
    ends_k: tuple[Array, Array],
    span_s: float,
) -> tuple[Array, Array]:
    """Move the clocks that still run: all clocks, and of the span what is left to each of them."""
    some, before = _batches(kinetics, waiting), inhibitor[waiting]
    gain = induction_gain(some, _of(ends_k[0], waiting), _of(ends_k[1], waiting), span_s)
    gain = np.where(np.isinf(some.induction_per_s), np.inf, gain)
    after = inhibitor.copy()
    after[waiting] = np.minimum(before + gain, 1.0)
    with np.errstate(invalid="ignore", divide="ignore"):
        waited = np.nan_to_num((1.0 - before) / gain, nan=0.0)
    return after, (1.0 - np.minimum(waited, 1.0)) * span_s


def _batches(kinetics: Kinetics, members: Members) -> Kinetics:
    """Take some batches out of a population; all of them cost nothing."""
    if len(members) == len(kinetics.rate_per_s):
        return kinetics
    values = ((field.name, getattr(kinetics, field.name)) for field in fields(kinetics))
    return replace(kinetics, **{name: _of(value, members) for name, value in values})


def _of(value: Any, members: Members) -> Any:  # noqa: ANN401 - an array's element type is its own
    return value[members] if isinstance(value, np.ndarray) and value.ndim else value


def _grow(
    kinetics: Kinetics,
    conversion: Array,
    start_k: Array,
    end_k: Array,
    grown_s: Array,
    fastest_per_s: float,
) -> Array:
    """One Runge-Kutta step of each batch over the last `grown_s` of a piece."""

    def at(temp_k: Array) -> tuple[Array, Array]:
        rate, limit = _at_temperature(kinetics, temp_k)
        return np.minimum(rate, fastest_per_s), limit

    middle, half_s = at(0.5 * (start_k + end_k)), 0.5 * grown_s
    k1 = _grown_per_s(kinetics, conversion, *at(start_k))
    k2 = _grown_per_s(kinetics, conversion + half_s * k1, *middle)
    k3 = _grown_per_s(kinetics, conversion + half_s * k2, *middle)
    k4 = _grown_per_s(kinetics, conversion + grown_s * k3, *at(end_k))
    return np.asarray(np.minimum(conversion + grown_s / 6.0 * (k1 + 2.0 * k2 + 2.0 * k3 + k4), 1.0))


GROWTH_NODES = 33


@dataclass(frozen=True, slots=True)
class GrowthTable:
    """Dimensionless time k t that growth still needs to a target, by where it stands.

    Worked out once for a population; reading it off costs no power of anything.
    """

    target: float
    left: Array
    """Row: node of (alpha / target)^(1/3); column: member."""

    def needed(self, conversion: Array) -> Array:
        """K t from a conversion to the target; 0 where it is passed."""
        node = np.cbrt(np.clip(conversion / self.target, 0.0, 1.0)) * (GROWTH_NODES - 1)
        below = np.minimum(node.astype(np.intp), GROWTH_NODES - 2)
        share = node - below
        member = np.arange(len(conversion))
        return np.asarray(
            (1.0 - share) * self.left[below, member] + share * self.left[below + 1, member]
        )


def growth_table(kinetics: Kinetics, target: float) -> GrowthTable:
    """Tabulate the growth to a target, without the throttle.

    integral of d(alpha) / [(seed + alpha^m)(1 - alpha)^n] by Simpson's rule on every piece between
    nodes that are crowded at the start, where the integrand is steep.
    """
    nodes = np.linspace(0.0, 1.0, GROWTH_NODES)[:, None]
    middles = 0.5 * (nodes[1:] + nodes[:-1])

    def stride(node: Array) -> Array:
        alpha = target * node**3
        speed = (kinetics.seed + alpha**kinetics.order_m) * (1.0 - alpha) ** kinetics.order_n
        return np.asarray(3.0 * target * node**2 / speed)

    ends = stride(nodes)
    pieces = (ends[:-1] + 4.0 * stride(middles) + ends[1:]) / (6.0 * (GROWTH_NODES - 1))
    left = np.zeros_like(ends)
    left[:-1] = np.cumsum(pieces[::-1], axis=0)[::-1]
    return GrowthTable(target, left)
