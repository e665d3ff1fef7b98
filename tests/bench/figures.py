"""What a bench found: pairs of ours and the peer's, their median ratio, and the goal it meets."""

from __future__ import annotations

import random
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import median

RESAMPLES = 2000
NOISE = 1.3
"""What the short sample allows a figure to be off by: a busy machine, few pairs."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Goal:
    """A ratio and the side on which it must lie."""

    ratio: float
    at_most: bool = True

    def is_met(self, ratio: float, slack: float = 1.0) -> bool:
        """Whether a ratio lies on the right side, give or take `slack`."""
        return ratio <= self.ratio * slack if self.at_most else ratio >= self.ratio / slack

    def __str__(self) -> str:
        return f"at {'most' if self.at_most else 'least'} {self.ratio:g}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Pair:
    """One turn: ours and the peer's, in the bench's unit."""

    ours: float
    peer: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Found:
    """A bench's result."""

    name: str
    ours: str
    """What the first figure of a pair is, with its unit."""
    peer: str
    goal: Goal
    pairs: tuple[Pair, ...]
    notes: tuple[str, ...] = ()

    @property
    def ratio(self) -> float:
        """Median of the pairs' ratios."""
        return median(self._ratios())

    @property
    def is_met(self) -> bool:
        """Whether the far end of the interval meets the goal."""
        low, high = self.interval()
        return self.goal.is_met(high if self.goal.at_most else low)

    def holds(self, slack: float) -> bool:
        """Whether the median meets the goal, give or take `slack`: what a short run can tell."""
        return self.goal.is_met(self.ratio, slack)

    def interval(self) -> tuple[float, float]:
        """95 % interval of the median, by drawing the pairs again."""
        ratios, rng = self._ratios(), random.Random(self.name)
        medians = sorted(
            median(rng.choices(ratios, k=len(ratios))) for _ in range(RESAMPLES)
        )  # fmt: skip
        return medians[RESAMPLES // 40], medians[-1 - RESAMPLES // 40]

    def table(self) -> str:
        """Lay the pairs out for a person."""
        low, high = self.interval()
        lines = [f"{'turn':>4}  {'ours':>12}  {'peer':>12}  {'ratio':>10}"]
        lines += [
            f"{turn:>4}  {pair.ours:>12.4g}  {pair.peer:>12.4g}  {_ratio(pair):>10.4g}"
            for turn, pair in enumerate(self.pairs, start=1)
        ]
        verdict = "pass" if self.is_met else "FAIL"
        lines.append(f"ours: {self.ours}")
        lines.append(f"peer: {self.peer}")
        lines.append(
            f"median ratio {self.ratio:.4g}, 95 % interval {low:.4g} to {high:.4g}; "
            f"goal {self.goal}: {verdict}"
        )
        return "\n".join([*lines, *self.notes])

    def _ratios(self) -> Sequence[float]:
        return [_ratio(pair) for pair in self.pairs]


def _ratio(pair: Pair) -> float:
    return pair.ours / pair.peer
