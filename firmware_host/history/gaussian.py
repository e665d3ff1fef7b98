"""What is believed of a few numbers at once: means and how they are tied, updated by Bayes' rule.

Pure. Linear-Gaussian, in plain arithmetic: a belief holds at most a dozen numbers, and one more
observation costs the same however many came before.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

Weights = Mapping[str, float]
"""What an observation says: the sum of these multiples of the named numbers."""

FARTHEST_SD = 6.0
"""Beyond this a bound says no more: the tail's own slope takes over."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Expected:
    """A value with one standard deviation."""

    mean: float
    sd: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Belief:
    """Means and covariances of named numbers."""

    names: tuple[str, ...]
    means: tuple[float, ...]
    covariances: tuple[tuple[float, ...], ...]

    def expected(self, weights: Weights) -> Expected:
        """Give the value of a sum of multiples."""
        return self._along(weights)[0]

    def seen(self, weights: Weights, value: float, sd: float) -> Belief:
        """Take in a measured value with its own standard deviation.

        S = h P h' + s2; K = P h' / S; x += K (y - h x); P -= K h P.
        """
        now, along = self._along(weights)
        total = now.sd**2 + sd**2
        return self._moved(along, (value - now.mean) / total, 1.0 / total)

    def seen_above(self, weights: Weights, bound: float, sd: float) -> Belief:
        """Take in that a value, measured with this deviation, lies above a bound.

        Moments of the truncated normal: with z = (bound - mean)/sqrt(S) and l = phi(z)/(1 - Phi(z))
        the mean moves by l and the variance shrinks by l (l - z).
        """
        now, along = self._along(weights)
        total = now.sd**2 + sd**2
        z = (bound - now.mean) / math.sqrt(total)
        pull = _hazard(z)
        return self._moved(along, pull / math.sqrt(total), pull * (pull - z) / total)

    def widened(self, name: str, sd: float) -> Belief:
        """Add doubt to one number: time has passed."""
        at = self.names.index(name)
        rows = [list(row) for row in self.covariances]
        rows[at][at] += sd**2
        return Belief(names=self.names, means=self.means, covariances=_frozen(rows))

    def joined(self, name: str, mean: float, sd: float) -> Belief:
        """Take up a number of which nothing else is known."""
        rows = [[*row, 0.0] for row in self.covariances]
        rows.append([0.0] * len(self.names) + [sd**2])
        return Belief(
            names=(*self.names, name), means=(*self.means, mean), covariances=_frozen(rows)
        )

    def without(self, name: str) -> Belief:
        """Forget a number; what it taught about the others stays."""
        kept = [i for i, one in enumerate(self.names) if one != name]
        return Belief(
            names=tuple(self.names[i] for i in kept),
            means=tuple(self.means[i] for i in kept),
            covariances=tuple(tuple(self.covariances[i][j] for j in kept) for i in kept),
        )

    def _along(self, weights: Weights) -> tuple[Expected, list[float]]:
        """Give h x with its sd, and P h'."""
        strange = weights.keys() - set(self.names)
        if strange:
            raise ValueError(f"nothing is believed of {', '.join(sorted(strange))}")
        places = [(self.names.index(name), weight) for name, weight in weights.items()]
        along = [0.0] * len(self.names)
        for i, weight in places:
            along = [a + weight * c for a, c in zip(along, self.covariances[i], strict=True)]
        mean = sum(self.means[i] * weight for i, weight in places)
        variance = sum(along[i] * weight for i, weight in places)
        return Expected(mean=mean, sd=math.sqrt(max(variance, 0.0))), along

    def _moved(self, along: list[float], pull: float, shrink: float) -> Belief:
        rows = [
            [c - one * other * shrink for c, other in zip(row, along, strict=True)]
            for row, one in zip(self.covariances, along, strict=True)
        ]
        means = tuple(mean + step * pull for mean, step in zip(self.means, along, strict=True))
        return Belief(names=self.names, means=means, covariances=_frozen(rows))


def independent(**numbers: tuple[float, float]) -> Belief:
    """Begin with numbers that are not tied, each as (mean, sd)."""
    sds = [sd for _, sd in numbers.values()]
    return Belief(
        names=tuple(numbers),
        means=tuple(mean for mean, _ in numbers.values()),
        covariances=tuple(
            tuple(sd**2 if i == j else 0.0 for j in range(len(sds))) for i, sd in enumerate(sds)
        ),
    )


def _hazard(z: float) -> float:
    """phi(z) / (1 - Phi(z)); far out it is the tail's slope, z + 1/z."""
    if z > FARTHEST_SD:
        return z + 1.0 / z
    density = math.exp(-0.5 * z * z) / math.sqrt(2.0 * math.pi)
    return density / (0.5 * math.erfc(z / math.sqrt(2.0)))


def _frozen(rows: list[list[float]]) -> tuple[tuple[float, ...], ...]:
    return tuple(tuple(row) for row in rows)
