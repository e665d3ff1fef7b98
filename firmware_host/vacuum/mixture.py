"""What block means leave possible of a leak: draws from a sum over models and over the noise.

Each model is linear once its time constants are given, so its posterior is Gaussian, cut to
amplitudes of at least 0. All models share one matrix of inner products per noise; a model costs a
matrix of its own size, however long the test.

The noise is white plus a random walk. The walk stands for gauge wander, colour, and outgassing
that is neither one exponential nor two; how strong it is, is summed over too: the readings say.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from firmware_host.physics.quasirandom import normal_points
from firmware_host.vacuum.shapes import (
    FIRST_GROWTH,
    FIRST_OTHER,
    FIRST_TRANSIENT,
    LARGEST_AMPLITUDE_PA,
    LEAK,
    Array,
    Columns,
    Family,
    families,
    growth_shares,
    log_amplitude_share,
    shape_columns,
)

WALKS = ((0.1, 0.3), (1.0, 0.4), (10.0, 0.2), (100.0, 0.1))
"""Strength of the random walk, Pa2/s, and the chance of it beforehand. A slow wander of 15 Pa over
10 min has 0.75, 25 Pa over 100 s 12.5; coloured noise of 20 Pa over 10 s about 80."""
SHARE_SCALE = 0.6
"""Share of the gas that warms with the laminate, and of saturation that resin vapour reaches."""
STEP_SCALE_PA = 10_000.0
GROWTH_SCALES = 4.0
"""A leak that grows does so by the size of limit and rise, or a few times that."""
MOST_SETTLED_PA = 20_000.0
"""More is no settling: several times the resin vapour and wet cloth."""
ROOM_TO_RISE = 2.0
DRAWS = 96
DROPPED = 9.0
"""A model this far below the best in log chance, 1 in 8,000, is not drawn."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Readings:
    """Block means, and what is known to have moved them."""

    time_s: Array
    """From 0 s on."""
    pressure_pa: Array
    count: Array
    """Readings in each block."""
    noise_pa: float
    """Of one reading."""
    known: Array
    """Shape (blocks, k): warming gas and vapour; amplitudes at least 0."""
    steps: Array
    """Shape (blocks, j): level steps of either sign."""
    onset_s: Array
    """Shape (`ONSETS`,), in rising order: when a leak may have opened."""
    end_s: float
    """End of the test: later than the last block where the bag filled on the way."""
    growth_scale_pa_per_s: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Draws:
    """Weighted draws of the leak, averaged over the span."""

    rise_pa_per_s: Array
    log_weight: Array


@dataclass(frozen=True, slots=True)
class _Models:
    """A family under every noise: Gaussian posteriors of leak, known shares and amplitudes.

    The precision is L L^T, the mean L^-T y. What is free to lie anywhere comes first, so that the
    last rows of both are the posterior of the rest, whatever comes before.
    """

    family: Family
    chosen: Columns
    log_chance: Array
    factor: Array
    whitened_mean: Array

    def above(self, log_chance: float) -> _Models:
        """Keep those above a chance."""
        kept = self.log_chance > log_chance
        return _Models(
            self.family,
            self.chosen[kept],
            self.log_chance[kept],
            self.factor[kept],
            self.whitened_mean[kept],
        )


def draw(readings: Readings) -> Draws:
    """Draw leaks over all models; none where the pressure fell throughout."""
    parts: list[Draws] = []
    found = -np.inf
    for known in range(min(readings.known.shape[1], 1), readings.known.shape[1] + 1):
        # Warming gas without vapour is a model of its own: both bend the same way.
        one = replace(readings, known=readings.known[:, :known])
        scale = _scales(one)
        inner, log_noise = _inner_products(one, np.array([walk for walk, _ in WALKS]))
        log_noise += np.log([chance for _, chance in WALKS])
        fitted = [_fit(one, inner, scale, family, log_noise) for family in families()]
        small = [models for models in fitted if models.family.transients < 2]
        found = max(found, _reached(small))
        best = found if found > -np.inf else _reached(fitted)
        parts += [_drawn(models.above(best - DROPPED), one, scale) for models in fitted]
    return _joined(parts)


def line_error_pa_per_s(readings: Readings) -> float:
    """Give one standard deviation of the slope of a line, a walk of 1 Pa2/s included."""
    inner, _ = _inner_products(readings, np.ones(1))
    return float(np.linalg.inv(inner[0, : LEAK + 1, : LEAK + 1])[LEAK, LEAK] ** 0.5)


def _inner_products(readings: Readings, walk_pa2_per_s: Array) -> tuple[Array, Array]:
    """Inner products of all columns and the readings under each noise, and its log determinant."""
    time_s = readings.time_s
    columns = [shape_columns(time_s, readings.onset_s), readings.known, readings.steps]
    target = (readings.pressure_pa - readings.pressure_pa[0])[:, None]
    walk = walk_pa2_per_s[:, None, None] * np.minimum(time_s[:, None], time_s[None, :])
    factor = np.asarray(np.linalg.cholesky(walk + np.diag(readings.noise_pa**2 / readings.count)))
    white = np.linalg.solve(factor, np.concatenate([*columns, target], axis=1))
    return np.asarray(white.transpose(0, 2, 1) @ white), -_half_log_determinant(factor)


def _half_log_determinant(factor: Array) -> Array:
    """Give half the log determinant of L L^T."""
    return np.asarray(np.sum(np.log(np.diagonal(factor, axis1=-2, axis2=-1)), axis=-1))


def _scales(readings: Readings) -> Array:
    """Scales of the normal densities that amplitudes are drawn from, one a column; inf for flat.

    Nothing that only lifts the pressure lifts it by much more than it rose; what is drawn from
    narrower than believed is weighed back.
    """
    known, steps = readings.known.shape[1], readings.steps.shape[1]
    scale = np.full(FIRST_OTHER + known + steps, np.inf)
    shapes = shape_columns(readings.time_s, readings.onset_s)
    rose_pa = float(np.ptp(readings.pressure_pa)) + 5.0 * readings.noise_pa
    reach = ROOM_TO_RISE * rose_pa / np.max(shapes[:, FIRST_TRANSIENT:FIRST_GROWTH], axis=0)
    scale[FIRST_TRANSIENT:FIRST_GROWTH] = np.minimum(LARGEST_AMPLITUDE_PA, reach)
    scale[FIRST_GROWTH:FIRST_OTHER] = readings.growth_scale_pa_per_s
    lifts = np.max(np.abs(readings.known), axis=0, initial=1e-9)
    scale[FIRST_OTHER : FIRST_OTHER + known] = np.minimum(
        SHARE_SCALE, ROOM_TO_RISE * rose_pa / lifts
    )
    scale[FIRST_OTHER + known :] = STEP_SCALE_PA
    return scale


def _fit(
    readings: Readings, inner: Array, scale: Array, family: Family, log_noise: Array
) -> _Models:
    known, steps = readings.known.shape[1], readings.steps.shape[1]
    others = np.arange(FIRST_OTHER, FIRST_OTHER + known + steps)
    shared = np.concatenate([[0], others[known:], [LEAK], others[:known]]).astype(np.intp)
    models = len(family.columns)
    chosen = np.concatenate([np.tile(shared, (models, 1)), family.columns], axis=1)
    prior = np.eye(chosen.shape[1]) * (scale[chosen] ** -2.0)[:, None, :]
    factor = np.linalg.cholesky(inner[:, chosen[:, :, None], chosen[:, None, :]] + prior)
    mean = np.linalg.solve(factor, inner[:, chosen, -1][..., None])[..., 0]
    misfit = inner[:, -1, -1, None] - np.sum(mean**2, axis=2)
    # Half-normal densities are 2 / (scale sqrt(2 pi)) at 0; the integral brings sqrt(2 pi) back.
    occam = family.log_chance + np.sum(np.log(2.0 / scale[chosen[:, 2 + steps :]]), axis=1)
    if family.growths:
        shares = growth_shares(readings.onset_s, float(readings.time_s[-1]))
        occam += np.log(shares)[family.columns[:, -1] - FIRST_GROWTH]
    log_chance = occam + log_noise[:, None] - 0.5 * misfit - _half_log_determinant(factor)
    free = 1 + steps
    return _Models(
        family,
        np.tile(chosen, (len(inner), 1)),
        log_chance.reshape(-1),
        _flat(np.asarray(factor))[:, free:, free:],
        _flat(np.asarray(mean))[:, free:],
    )


def _flat(by_noise: Array) -> Array:
    """Join the axes of noise and models."""
    return by_noise.reshape(-1, *by_noise.shape[2:])


def _reached(fitted: list[_Models]) -> float:
    """Give the chance of the likeliest model that some amplitudes of at least 0 belong to."""
    found = -np.inf
    for family in fitted:
        models = family.above(found)
        share = np.mean(_possible(models.family, _points(models, DRAWS // 4)), axis=1)
        possible = share > 0.0
        if np.any(possible):
            found = max(found, float(np.max(models.log_chance[possible] + np.log(share[possible]))))
    return found


def _points(models: _Models, count: int) -> Array:
    """Draw from the uncut Gaussians: shape (models, count, parameters)."""
    points = normal_points(DRAWS, models.whitened_mean.shape[1])[:count]
    return np.asarray((models.whitened_mean[:, None, :] + points) @ np.linalg.inv(models.factor))


def _possible(family: Family, drawn: Array) -> npt.NDArray[np.bool_]:
    """Tell which draws are possible: nothing below 0, no transient that fills the bag."""
    held = drawn[:, :, 0] >= 0.0
    for amplitude in range(1, drawn.shape[2]):
        held &= drawn[:, :, amplitude] >= 0.0
    if family.transients:
        first = drawn.shape[2] - family.transients - family.growths
        settled = drawn[:, :, first : first + family.transients]
        held &= np.all(settled <= MOST_SETTLED_PA, axis=2)
    return np.asarray(held)


def _drawn(models: _Models, readings: Readings, scale: Array) -> Draws:
    """Draw, cut to what is at least 0, weigh by the density of amplitudes."""
    family = models.family
    drawn = _points(models, DRAWS)
    held = _possible(family, drawn)
    model = np.nonzero(held)[0]
    kept = drawn[held]
    first = kept.shape[1] - family.transients - family.growths
    columns = models.chosen[model][:, -kept.shape[1] :]
    scales = scale[columns]
    settled = slice(first, first + family.transients)
    share = log_amplitude_share(kept[:, settled], scales[:, settled])
    shares, narrow = kept[:, 1:first], scales[:, 1:first]
    narrower = 0.5 * shares**2 * (narrow**-2 - SHARE_SCALE**-2) + np.log(narrow / SHARE_SCALE)
    rise = kept[:, 0]
    if family.growths:
        rise = rise + kept[:, -1] * _mean_growth(readings)[models.chosen[model, -1] - FIRST_GROWTH]
    return Draws(
        rise_pa_per_s=rise,
        log_weight=models.log_chance[model] + np.sum(share, axis=1) + np.sum(narrower, axis=1),
    )


def _mean_growth(readings: Readings) -> Array:
    """Average each growth over the test, as a share of its size: shape (`GROWTHS`,)."""
    creep = 0.5 * readings.end_s / readings.time_s[-1]
    return np.append(1.0 - readings.onset_s / readings.end_s, creep)


def _joined(parts: list[Draws]) -> Draws:
    return Draws(
        rise_pa_per_s=np.concatenate([part.rise_pa_per_s for part in parts]),
        log_weight=np.concatenate([part.log_weight for part in parts]),
    )
