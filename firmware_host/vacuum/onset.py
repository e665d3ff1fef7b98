"""When a leak may have opened while the bag was shut: moments spread evenly, and the likely ones.

A sum over moments that are spread evenly misses a sudden leak: between two of them the pressure is
wrong by far more than its noise, and every model explains it badly with great confidence. So half
of the moments follow the readings. Only where models are placed depends on them, not how likely a
moment is beforehand (`shapes.growth_shares`).

Pure. A scan is a handful of small projections, bounded by the number of blocks.
"""

from __future__ import annotations

import numpy as np

from firmware_host.vacuum.shapes import ONSETS, TAU_S, Array, shape_columns

LIKELY = ONSETS // 2
SCAN_WALK_PA2_PER_S = 1.0
SCANNED_TAU_S = TAU_S[::3]
LEAST_NORM = 1e-9
FLAT_SHARE = 0.02
"""Of the weight, spread evenly: the scan knows less models than the sum does."""


def onsets(time_s: Array, pressure_pa: Array, variance_pa2: Array) -> Array:
    """Give `ONSETS` moments in rising order, half of them where the readings bend upwards.

    `time_s` counts from 0 s, `variance_pa2` is that of each block mean. Needs four blocks.

    >>> time_s = np.arange(0.0, 100.0, 2.0)
    >>> bent = 50.0 * np.maximum(time_s - 61.0, 0.0)
    >>> bool(np.min(np.abs(onsets(time_s, bent, np.full(50, 9.0)) - 61.0)) < 0.5)
    True
    """
    last_s = float(time_s[-1])
    even = np.linspace(0.0, last_s, ONSETS - LIKELY + 2)[1:-1]
    moments = time_s[1:-1]
    weight = np.exp(0.5 * _gains(time_s, pressure_pa, variance_pa2, moments))
    weight = weight / np.sum(weight) + FLAT_SHARE / len(moments)
    cumulated = (np.cumsum(weight) - 0.5 * weight) / np.sum(weight)
    likely = np.interp((np.arange(LIKELY) + 0.5) / LIKELY, cumulated, moments)
    return np.sort(np.concatenate([even, likely]))


def _gains(time_s: Array, pressure_pa: Array, variance_pa2: Array, moments: Array) -> Array:
    """How much each onset improves the best fit without one, less the best of all: at most 0."""
    walk = SCAN_WALK_PA2_PER_S * np.minimum(time_s[:, None], time_s[None, :])
    factor = np.linalg.cholesky(walk + np.diag(variance_pa2))
    shapes = shape_columns(time_s, moments)
    opened = shapes[:, -1 - len(moments) : -1]
    settling = 1.0 - np.exp(-time_s[:, None] / SCANNED_TAU_S)
    columns = [shapes[:, :2], settling, opened, pressure_pa[:, None]]
    white = np.linalg.solve(factor, np.concatenate(columns, axis=1))
    line, settled = white[:, :2], white[:, 2 : 2 + len(SCANNED_TAU_S)]
    rest = white[:, 2 + len(SCANNED_TAU_S) :]
    bases = [line] + [np.column_stack([line, one]) for one in settled.T]
    found = np.max([_improvement(basis, rest) for basis in bases], axis=0)
    return np.asarray(found - np.max(found))


def _improvement(basis: Array, rest: Array) -> Array:
    """Fall of the sum of squares by each column but the last of `rest`, less what the basis leaves.

    A column that only a negative size would help gains nothing.
    """
    orthonormal, _ = np.linalg.qr(basis)
    left = rest - orthonormal @ (orthonormal.T @ rest)
    opened, target = left[:, :-1], left[:, -1]
    along = np.maximum(opened.T @ target, 0.0)
    norm = np.sum(opened**2, axis=0)
    gain = along**2 / np.maximum(norm, LEAST_NORM * np.max(norm))
    return np.asarray(gain - target @ target)
