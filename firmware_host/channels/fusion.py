"""One laminate out of its couples: mean, hottest, and how sure that is of the whole.

Pure. A bead shows 0.75 to 1 of the rise under it, because film and air have their share (common
practice, no source), and a shell is not equally warm everywhere. Two couples say more than one;
however many there are, where they disagree the laminate is not known better than that.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

BEAD_SD_SHARE = 0.072
"""Standard deviation of a factor that lies evenly between 0.75 and 1: 0.25 / sqrt(12)."""
PLACE_SD_SHARE = 0.10
"""Of the rise, from place to place on one shell; common practice, no source."""
ZERO_SD_K = 0.2
"""Left over when couples were zeroed against each other."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Laminate:
    """What the believed couples say together."""

    mean_k: float
    sd_k: float
    """One standard deviation of the laminate's mean, placement included."""
    hottest_k: float
    hottest: int
    """Position of the hottest couple among those given."""


def fuse(
    temps_k: Sequence[float | None], weights: Sequence[float], room_k: float | None
) -> Laminate | None:
    """Join the couples of one laminate; None where none is believed.

    m = sum(w T) / sum(w); with n = sum(w)^2 / sum(w^2) couples' worth of evidence the standard
    deviation is that of placement, (share x rise) / sqrt(n), or of the spread that shows, /
    sqrt(n), whichever is more, with the zero's own. Without a room temperature the rise is not
    known and 10 K stand in for it.

    >>> fuse([300.0, 304.0], [1.0, 1.0], 294.0).mean_k
    302.0
    """
    seen = [
        (temp, weight, index)
        for index, (temp, weight) in enumerate(zip(temps_k, weights, strict=True))
        if temp is not None and weight > 0.0
    ]
    if not seen:
        return None
    total = sum(weight for _, weight, _ in seen)
    mean_k = sum(temp * weight for temp, weight, _ in seen) / total
    evidence = total * total / sum(weight * weight for _, weight, _ in seen)
    rise_k = abs(mean_k - room_k) if room_k is not None else 10.0
    placed = math.hypot(BEAD_SD_SHARE, PLACE_SD_SHARE) * rise_k
    spread = sum(weight * (temp - mean_k) ** 2 for temp, weight, _ in seen) / total
    sd_k = math.hypot(max(placed, math.sqrt(spread)) / math.sqrt(evidence), ZERO_SD_K)
    hottest_k, _, hottest = max(seen)
    return Laminate(mean_k=mean_k, sd_k=sd_k, hottest_k=hottest_k, hottest=hottest)
