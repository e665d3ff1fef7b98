"""What a rise may be made of besides a steady leak, and how likely that is beforehand.

Transients of settling and outgassing, and a leak that opens on the way.

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
"""Moments at which a leak may open; a creeping one is near one of them."""
LEAK, FIRST_TRANSIENT, FIRST_HINGE = 1, 2, 2 + len(TAU_S)
FIRST_OTHER = FIRST_HINGE + ONSETS
"""Columns: a constant, the line of the leak, transients, hinges, then what the caller adds."""

CHANCE_OF_NO_TRANSIENT = 0.1
"""A bag that does not settle at all is rare; common practice, no source."""
CHANCE_OF_AN_ONSET = 0.1
"""A leak that opens or grows during the test; ours."""
AMPLITUDE_PA, LARGEST_AMPLITUDE_PA = 200.0, 4000.0
"""Density of an amplitude A: exp(-A^2 / 2 L^2) / (1 + A / A0). How much a bag settles spans orders
of magnitude, so that above A0 every factor of two is as likely as the next, up to about L."""


@dataclass(frozen=True, slots=True)
class Family:
    """Models of one size."""

    columns: Columns
    """One row a model: the columns that it has besides the constant and the leak."""
    log_chance: Array
    """Of each model, beforehand."""
    transients: int
    hinges: int


@cache
def families() -> tuple[Family, ...]:
    """List all families; each has its chance beforehand."""
    tau = range(len(TAU_S))
    pairs = [(i, k) for i in tau for k in tau if i < k]
    settles, steady = 1.0 - CHANCE_OF_NO_TRANSIENT, 1.0 - CHANCE_OF_AN_ONSET
    hinges = [FIRST_HINGE + j for j in range(ONSETS)]
    return (
        _family([()], CHANCE_OF_NO_TRANSIENT * steady, hinges=0),
        _family([(i,) for i in tau], 0.5 * settles * steady, hinges=0),
        _family([(h,) for h in hinges], CHANCE_OF_NO_TRANSIENT * CHANCE_OF_AN_ONSET, hinges=1),
        _family([(i, h) for i in tau for h in hinges], settles * CHANCE_OF_AN_ONSET, hinges=1),
        _family(pairs, 0.5 * settles * steady, hinges=0),
    )


def _family(members: Sequence[tuple[int, ...]], chance: float, *, hinges: int) -> Family:
    transients = len(members[0]) - hinges
    columns = np.array(members, dtype=np.intp).reshape(len(members), -1)
    rarer = np.minimum(1.0, USUAL_TAU_S / TAU_S)[columns[:, :transients]]
    share = np.prod(rarer, axis=1) / np.sum(np.prod(rarer, axis=1))
    columns[:, :transients] += FIRST_TRANSIENT
    return Family(columns, np.log(chance * share), transients, hinges)


def shape_columns(time_s: Array, onset_s: Array) -> Array:
    """Give the columns 1, t, 1 - e^(-t/tau) and max(t - onset, 0) at times from 0 s on."""
    at = time_s[:, None]
    return np.concatenate(
        [
            np.ones_like(at),
            at,
            1.0 - np.exp(-at / TAU_S),
            np.maximum(at - onset_s, 0.0),
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
