"""How well each member of the bank explains what was measured, and the weights that follow.

Errors of successive readings are correlated, so a reading a minute counts for a sixth. Batches that
die and batches that live are two claims: how the chance is shared between them is the whole
evidence, but inside each the weights are flattened until enough members live, because the law
itself is only nearly right. A person's finger is not tempered. Pure.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]
Mask = npt.NDArray[np.bool_]

TEMPER = 1.0 / 6.0
"""One independent reading of heat every six minutes."""
LIVING_MEMBERS, LIVING_DYING = 30.0, 10.0
"""Least effective number of members on each side."""
FARTHEST_MISFIT = 6.0
"""Standard deviations beyond which a reading says no more against a member."""
HALVINGS = 12


class Evidence:
    """Log-likelihoods of one bank."""

    def __init__(self, log_prior: Array, dying: Mask) -> None:
        self._prior = log_prior
        self._dying = dying
        self._heat = np.zeros_like(log_prior)
        self._seen = np.zeros_like(log_prior)
        self._weights: Array | None = None

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
        """Give weights that sum to 1 and leave enough members alive on both sides."""
        if self._weights is None:
            dying = self._dying
            chance = self._chance_of_dying()
            weight = np.empty_like(self._prior)
            weight[dying] = chance * self._flattened(dying, LIVING_DYING)
            weight[~dying] = (1.0 - chance) * self._flattened(~dying, LIVING_MEMBERS)
            self._weights = weight
        return self._weights

    def _chance_of_dying(self) -> float:
        weight = normalised(self._heat + self._seen + self._prior)
        return float(min(np.sum(weight[self._dying]), 1.0))

    def _flattened(self, side: Mask, least: float) -> Array:
        heat, fixed = self._heat[side], self._prior[side] + self._seen[side]
        weight = normalised(heat + fixed)
        if living(weight) >= least:
            return weight
        low, high = 0.0, 1.0
        for _ in range(HALVINGS):
            middle = 0.5 * (low + high)
            if living(normalised(middle * heat + fixed)) >= least:
                low = middle
            else:
                high = middle
        return normalised(low * heat + fixed)


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
    cumulated = np.cumsum(weight[order])
    last = len(values) - 1
    return tuple(
        float(values[order[min(int(np.searchsorted(cumulated, q)), last)]]) for q in levels
    )
