"""What a rise may be made of besides a steady leak, and how likely that is beforehand.

Transients of settling and outgassing, and a leak that opens or creeps up on the way.

Pure tables, made once. Time constants are not fitted but summed over; a transient slower than the
test cannot be told from a leak by its shape, so slow ones must be among them.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]
Columns = npt.NDArray[np.intp]

TAU_S = np.geomspace(6.0, 3600.0, 15)
"""Valve and gas within seconds, cloth in minutes, wet foam in an hour."""
USUAL_TAU_S = 1200.0
"""Log-uniform up to here; beyond, rarer as 1 / tau. Ours, from simulated and logged bags."""
ONSETS = 8
"""Moments at which a leak may open."""
GROWTHS = ONSETS + 1
"""A leak opens at one of them, or creeps up from the start."""
LEAK, FIRST_TRANSIENT, FIRST_GROWTH = 1, 2, 2 + len(TAU_S)
FIRST_OTHER = FIRST_GROWTH + GROWTHS
"""Columns: a constant, the line of the leak, transients, growths, then what the caller adds."""

CHANCE_OF_NO_TRANSIENT = 0.1
"""A bag that does not settle at all is rare; common practice, no source."""
CHANCE_OF_TWO = 0.2
"""Of those that settle, how many do so by two transients; ours."""
CHANCE_OF_GROWTH, CHANCE_OF_CREEP = 0.1, 0.3
"""A leak that opens or grows during the test, and that such a one creeps; ours."""
AMPLITUDE_PA, LARGEST_AMPLITUDE_PA = 50.0, 5000.0
"""Density of an amplitude A: exp(-A^2 / 2 L^2) / (1 + A / A0). How much a bag settles spans orders
of magnitude, so that above A0 every factor of two is as likely as the next, up to about L; less
than a gauge's noise is as good as none."""


@dataclass(frozen=True, slots=True)
class Family:
    """Models of one size."""

    columns: Columns
    """One row a model: the columns that it has besides the constant and the leak."""
    log_chance: Array
    """Of each model, beforehand."""
    transients: int
    growths: int


@cache
def families() -> tuple[Family, ...]:
    """List all families; each has its chance beforehand."""
    tau = range(len(TAU_S))
    pairs = [(i, k) for i in tau for k in tau if i < k]
    settles, steady = 1.0 - CHANCE_OF_NO_TRANSIENT, 1.0 - CHANCE_OF_GROWTH
    growths = [FIRST_GROWTH + j for j in range(GROWTHS)]
    return (
        _family([()], CHANCE_OF_NO_TRANSIENT * steady, growths=0),
        _family([(i,) for i in tau], (1.0 - CHANCE_OF_TWO) * settles * steady, growths=0),
        _family([(g,) for g in growths], CHANCE_OF_NO_TRANSIENT * CHANCE_OF_GROWTH, growths=1),
        _family([(i, g) for i in tau for g in growths], settles * CHANCE_OF_GROWTH, growths=1),
        _family(pairs, CHANCE_OF_TWO * settles * steady, growths=0),
    )


def _family(members: Sequence[tuple[int, ...]], chance: float, *, growths: int) -> Family:
    transients = len(members[0]) - growths
    columns = np.array(members, dtype=np.intp).reshape(len(members), -1)
    rarer = np.prod(np.minimum(1.0, USUAL_TAU_S / TAU_S)[columns[:, :transients]], axis=1)
    # What the growths share among themselves depends on when they begin: the caller adds it.
    share = rarer / np.sum(rarer) * (GROWTHS if growths else 1)
    columns[:, :transients] += FIRST_TRANSIENT
    return Family(columns, np.log(chance * share), transients, growths)


def growth_shares(onset_s: Array, end_s: float) -> Array:
    """Share the chance of growth: a leak opens at any moment alike, or creeps; shape (`GROWTHS`,).

    An onset stands for all moments that are nearer to it than to the next.
    """
    edges = np.concatenate([[0.0], 0.5 * (onset_s[1:] + onset_s[:-1]), [end_s]])
    widths = np.maximum(np.diff(edges), 1e-3 * end_s)
    return np.append((1.0 - CHANCE_OF_CREEP) * widths / np.sum(widths), CHANCE_OF_CREEP)


def shape_columns(time_s: Array, onset_s: Array) -> Array:
    """Give the columns 1, t, 1 - e^(-t/tau), max(t - onset, 0), t^2 / 2T at times from 0 s on.

    The rise after an onset is averaged over the block that it falls into; T is the last time.
    """
    at = time_s[:, None]
    half = 0.5 * np.gradient(time_s)[:, None]
    after = at - onset_s
    within = np.abs(after) < half
    opened = np.where(within, (after + half) ** 2 / (4.0 * half), np.maximum(after, 0.0))
    return np.concatenate(
        [
            np.ones_like(at),
            at,
            1.0 - np.exp(-at / TAU_S),
            opened,
            0.5 * at**2 / time_s[-1],
        ],
        axis=1,
    )


def log_amplitude_share(amplitude_pa: Array, scale_pa: Array) -> Array:
    """Give the log of an amplitude's density over the half-normal one that it is drawn from."""
    wider = 0.5 * amplitude_pa**2 * (scale_pa**-2 - LARGEST_AMPLITUDE_PA**-2)
    share = _log_excess() + np.log(scale_pa / LARGEST_AMPLITUDE_PA) + wider
    return np.asarray(share - np.log1p(amplitude_pa / AMPLITUDE_PA))


@cache
def _log_excess() -> float:
    """Make the density of an amplitude integrate to one."""
    at = np.linspace(0.0, 6.0 * LARGEST_AMPLITUDE_PA, 20_001)
    half_normal = np.exp(-0.5 * (at / LARGEST_AMPLITUDE_PA) ** 2)
    return float(np.log(np.sum(half_normal) / np.sum(half_normal / (1.0 + at / AMPLITUDE_PA))))
