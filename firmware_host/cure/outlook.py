"""What the weighed bank says at one moment: gelled or when, how far along, stopped or not.

Pure.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from firmware_host.cure.evidence import of_sorted, quantiles
from firmware_host.cure.known import Outlook
from firmware_host.cure.population import Population
from firmware_host.physics.kinetics import T25_K, GrowthTable, Progress, arrhenius_factor

Array = npt.NDArray[np.float64]

GAP_BLUR = 0.15
"""Of a gap's length, either way: what happened in it is known by what came of it alone."""
STOPPED_SHORT_OF_LIMIT = 0.06
"""A member this near the conversion at which its initiator runs out has practically stopped."""
DIED_BELOW = 0.48
"""A batch that ends above is a poor one, not a dead one."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Moment:
    """Where every member of a bank stands, and its weight."""

    bank: Population
    growth: GrowthTable
    part: Progress
    gel_s: Array
    """When each gelled; nan where it has not."""
    temp_k: Array
    """Of its resin now."""
    weight: Array
    own_weight: Array
    """Of each weight, what needs no warmth from outside."""
    mixed_s: float
    now_s: float
    gaps_s: tuple[tuple[float, float], ...]
    """First and last moment of each span in which nobody looked."""


def look_out(at: Moment) -> Outlook:
    """Say what the bank says: gel past or to come at the present temperature, conversion, death."""
    gelled = ~np.isnan(at.gel_s)
    gel_s = np.where(gelled, at.gel_s, at.now_s + _remaining_s(at))
    order = np.argsort(gel_s)
    sorted_s, share = gel_s[order], at.weight[order]
    low, early, high = of_sorted(sorted_s, share, (0.025, 0.1, 0.975))
    middle = min(max(_nearest_in_proportion(sorted_s - at.mixed_s, share) + at.mixed_s, low), high)
    blur_s = sum(GAP_BLUR * (end - start) for start, end in at.gaps_s if start <= middle <= end)
    return Outlook(
        gel_past=min(max(float(np.sum(at.weight[gelled])), 0.0), 1.0),
        gel_s=(max(low - blur_s, at.mixed_s), middle, high + blur_s),
        gel_early_s=early,
        conversion=quantiles_of(at.part.conversion, at.weight),
        clock_past=float(np.mean(gelled[at.bank.usual])),
        died=min(float(np.sum(at.own_weight[_stopped(at, gelled)])), 1.0),
    )


def quantiles_of(alpha: Array, weight: Array) -> tuple[float, float, float]:
    """2.5 %, mean and 97.5 % of the members' conversions."""
    mean = float(np.sum(weight * alpha))
    low, high = quantiles(alpha, weight, (0.025, 0.975))
    return min(low, mean), mean, max(high, mean)


def _nearest_in_proportion(since_s: Array, weight: Array) -> float:
    """Give the gel that is off by the least share of the time since mixing, on the mean.

    A median of weights over that time; for a gel that is past it is the plain median.
    """
    share = weight / np.maximum(since_s, 60.0)
    (middle,) = of_sorted(since_s, np.asarray(share / np.sum(share)), (0.5,))
    return middle


def _stopped(at: Moment, gelled: npt.NDArray[np.bool_]) -> npt.NDArray[np.bool_]:
    """Tell which members have died, well short of the end."""
    alpha, limit = at.part.conversion, at.bank.kinetics.limit_at_20c
    spent = alpha >= limit - STOPPED_SHORT_OF_LIMIT
    return np.asarray(at.bank.dying & gelled & spent & (alpha < DIED_BELOW))


def _remaining_s(at: Moment) -> Array:
    """Time to gel if the laminate stays as warm as it is."""
    kinetics = at.bank.kinetics
    induction = kinetics.induction_per_s * arrhenius_factor(
        kinetics.induction_j_per_mol, at.temp_k, T25_K
    )
    rate = kinetics.rate_per_s * arrhenius_factor(kinetics.rate_j_per_mol, at.temp_k, T25_K)
    growth = at.growth.needed(at.part.conversion)
    return np.asarray((1.0 - at.part.inhibitor) / induction + growth / rate)
