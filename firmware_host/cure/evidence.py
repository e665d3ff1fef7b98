"""How well each member of the bank explains what was measured, and the weights that follow.

Errors of successive readings are correlated, so a reading a minute counts for a sixth, and hours
after the kick for less. That a batch is as the job file means, that it dies, and that its can is
far too slow are three claims, each made twice, without and with warmth from outside (`lit.py`): how
the chance is shared between them is the whole evidence, but inside each the weights are flattened
until enough members live, because the law itself is only nearly right. A person's finger is not
tempered. Pure.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from firmware_host.cure.lit import FARTHEST_MISFIT, Lit, Node, width_k

Array = npt.NDArray[np.float64]
Mask = npt.NDArray[np.bool_]

TEMPER = 1.0 / 6.0
"""One independent reading of heat every six minutes."""
LIVING_MEMBERS, LIVING_DYING, LIVING_LATE = 30.0, 10.0, 10.0
"""Least effective number of members of each claim."""
HALVINGS = 12
PAST_FROM_K, PAST_SHARE, PAST_LOOKS = 3.0, 0.5, 30.0
"""A kick is past once the part is back under half of its largest rise; half an hour later a
reading counts for half."""
SCALE_SD = 0.15
"""Of how warm a part gets: heat of cure, thickness, losses, seat of the couple."""


class Evidence:
    """Log-likelihoods of one bank."""

    def __init__(self, log_prior: Array, dying: Mask, late: Mask) -> None:
        self._prior = log_prior
        self._claims = (
            (~(dying | late), LIVING_MEMBERS),
            (dying, LIVING_DYING),
            (late, LIVING_LATE),
        )
        self._heat = np.zeros_like(log_prior)
        self._spread = np.zeros_like(log_prior)
        self._seen = np.zeros_like(log_prior)
        self._past = _Past()
        self._scaled = _Scaled(len(log_prior))
        self._lit = Lit(len(log_prior))
        self._weights: Array | None = None
        self._own = np.zeros_like(log_prior)

    def weigh_rise(
        self,
        node: Node,
        measured_k: float,
        shown_k: Array,
        floor_k: float,
        share: float,
        gelled: Mask,
    ) -> None:
        """Hold a measured rise above the shop against each member's, whatever its scale."""
        if node is Node.LAMINATE:
            self._past.take(measured_k)
        temper = TEMPER * self._past.share()
        self._lit.take(node, measured_k, shown_k, floor_k, gelled, temper)
        self._spread += self._scaled.take(measured_k, shown_k, floor_k, share, temper)
        self._weights = None

    def weigh(
        self, measured_k: float, shown_k: Array, shop_k: float, floor_k: float, share: float
    ) -> None:
        """Hold a measured temperature against what each member would show."""
        rise = np.maximum(np.maximum(shown_k - shop_k, measured_k - shop_k), 0.0)
        sd = np.hypot(floor_k, share * rise)
        misfit = np.minimum(np.abs(measured_k - shown_k) / sd, FARTHEST_MISFIT)
        self._heat -= TEMPER * (0.5 * misfit**2 + np.log(sd / floor_k))
        self._weights = None

    def add_seen(self, log_likelihood: Array) -> None:
        """Take in what a person found."""
        self._seen += log_likelihood
        self._weights = None

    def weights(self) -> Array:
        """Give weights that sum to 1 and leave enough members of each claim alive.

        Each claim is made twice: by its own heat alone, and lit from outside as well.
        """
        if self._weights is None:
            fixed = self._seen + self._prior
            ways = [warmth + fixed for warmth in self._warmths()]
            chance = normalised(np.concatenate(ways)).reshape(len(ways), -1)
            parts = np.zeros_like(chance)
            for part, way, share in zip(parts, ways, chance, strict=True):
                for claim, least in self._claims:
                    flat = _flattened((way - fixed)[claim], fixed[claim], least)
                    part[claim] = float(share[claim].sum()) * flat
            self._own, self._weights = parts[0], parts.sum(axis=0)
        return self._weights

    def own_weights(self) -> Array:
        """Give of each weight what stands on the part's own heat, no lamp taken to have helped."""
        self.weights()
        return self._own

    def _warmths(self) -> tuple[Array, Array]:
        """Log-likelihoods of all that was warm; the scale of each member is integrated out."""
        own = self._scaled.log_likelihood() - self._spread
        return self._heat + own, self._heat + self._lit.log_likelihood()


def _flattened(heat: Array, fixed: Array, least: float) -> Array:
    """Give the weights of one claim, of the heat no more than leaves so many members alive."""
    if _alive(heat + fixed) >= least:
        return normalised(heat + fixed)
    low, high = 0.0, 1.0
    for _ in range(HALVINGS):
        middle = 0.5 * (low + high)
        if _alive(middle * heat + fixed) >= least:
            low = middle
        else:
            high = middle
    return normalised(low * heat + fixed)


def _alive(log_weight: Array) -> float:
    """Effective number of members by the logarithms of their weights."""
    weight = np.exp(log_weight - log_weight.max())
    return float(weight.sum() ** 2 / weight.dot(weight))


class _Past:
    """How long ago the kick was: what a part shows hours after it says ever less of it.

    A couple that drifts, or the sun at noon, is wrong for hours on end; readings a minute apart are
    then as good as one.
    """

    def __init__(self) -> None:
        self._largest_k = 0.0
        self._looks = 0

    def take(self, rise_k: float) -> None:
        """Take in how warm the laminate is."""
        self._largest_k = max(self._largest_k, rise_k)
        over = self._largest_k > PAST_FROM_K and rise_k < PAST_SHARE * self._largest_k
        self._looks = self._looks + 1 if over else 0

    def share(self) -> float:
        """Give what a reading still counts for."""
        return PAST_LOOKS / (PAST_LOOKS + self._looks)


class _Scaled:
    """Sums of a linear model with one unknown a member: how much warmer, or less, its part gets.

    y = a x + error, a ~ N(1, SCALE_SD^2), x the member's rise and y the measured one. Heat of cure,
    thickness and losses scale a rise and hardly change its course; integrated out, they cannot
    make a batch look dead, or make the bank run out of members that fit:

        -2 ln L = S_yy - (S_xy + p)^2 / (S_xx + p) + p + ln(1 + S_xx / p),   p = 1 / SCALE_SD^2
    """

    def __init__(self, members: int) -> None:
        self._xx, self._xy, self._yy = (np.zeros(members) for _ in range(3))
        self._largest_k = 0.0

    def take(
        self, measured_k: float, shown_k: Array, floor_k: float, share: float, temper: float
    ) -> Array:
        """Take in one reading; returns the price of the width that each member asked for."""
        self._largest_k = max(self._largest_k, measured_k)
        sd = width_k(measured_k, shown_k, floor_k, share, self._largest_k)
        misfit = np.abs(measured_k - self._scale() * shown_k) / sd
        weight = temper / sd**2 * np.minimum(1.0, (FARTHEST_MISFIT / np.maximum(misfit, 1.0)) ** 2)
        self._xx += weight * shown_k**2
        self._xy += weight * shown_k * measured_k
        self._yy += weight * measured_k**2
        return np.asarray(temper * np.log(sd / floor_k))

    def log_likelihood(self) -> Array:
        """Log-likelihood of all readings, see the class."""
        p = 1.0 / SCALE_SD**2
        left = self._yy - (self._xy + p) ** 2 / (self._xx + p) + p
        return np.asarray(-0.5 * (left + np.log1p(self._xx / p)))

    def _scale(self) -> Array:
        p = 1.0 / SCALE_SD**2
        return np.asarray((self._xy + p) / (self._xx + p))


def living(weight: Array) -> float:
    """Effective number of members, 1 / sum of squared weights."""
    return float(1.0 / np.sum(weight**2))


def normalised(log_weight: Array) -> Array:
    """Turn logarithms of weights into weights that sum to 1."""
    weight = np.exp(log_weight - np.max(log_weight))
    return np.asarray(weight / np.sum(weight))


def quantiles(values: Array, weight: Array, levels: Sequence[float]) -> tuple[float, ...]:
    """Give weighted quantiles.

    >>> quantiles(np.array([3.0, 1.0, 2.0]), np.array([0.2, 0.2, 0.6]), (0.1, 0.5, 0.9))
    (1.0, 2.0, 3.0)
    """
    order = np.argsort(values)
    return of_sorted(values[order], weight[order], levels)


def of_sorted(values: Array, weight: Array, levels: Sequence[float]) -> tuple[float, ...]:
    """Give weighted quantiles of values that stand in order."""
    places = np.searchsorted(np.cumsum(weight), levels)
    return tuple(float(values[min(int(place), len(values) - 1)]) for place in places)
