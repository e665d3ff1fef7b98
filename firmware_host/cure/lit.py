"""Warmth from outside that nobody told of: a lamp, the sun, a heater set under the part.

Pure. Every member may be lit from outside, at a price: of the claim itself, of how warm it makes
the part, and of every look at which the rise gathers way. A lamp's warmth comes slower and slower
from the moment it is lit; a kick's comes faster and faster until it is half over. While a member
has not gelled, warmth beyond its own is the lamp's; from its gel on the lamp adds no more than it
did then, and less and less, so that the kick must make its own.
"""

from __future__ import annotations

import math
from collections import deque
from enum import StrEnum

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]
Mask = npt.NDArray[np.bool_]

CLAIM = 5.0
"""Price of the claim, as a logarithm: one job in 150 is warmed and nobody marks it
(ours; no source)."""
LEAST_K = 1.0
"""A lamp that warms the part by less does not matter."""
KEPT = math.exp(-1.0 / 30.0)
"""From look to look after the gel: a lamp goes out, and its warmth goes in half an hour."""
USUAL_K = 6.0
"""What lamps and sun warm a laminate by: 80 W/m2 over losses of 13 W/m2K; common
practice, no source."""
RISE_SHARE, TAIL_SHARE = 0.15, 0.03
"""Of the rise, and of the largest rise so far: what a law that is only nearly right is off by."""
FARTHEST_MISFIT = 6.0
"""Standard deviations beyond which a reading says no more against a member."""
BEND_LOOKS, BEND_SD_K, FARTHEST_BEND = 5, 0.35, 3.0
"""Looks over which a rise gathers way, and by how much it must: T(t) - 2 T(t - 5) + T(t - 10)."""


class Node(StrEnum):
    """Where a rise was measured."""

    LAMINATE = "laminate"
    MOULD = "mould"


def width_k(
    measured_k: float, shown_k: Array, floor_k: float, share: float, largest_k: float
) -> Array:
    """Give the standard deviation of a rise: floor, share of it, and of the largest so far."""
    rise_k = np.maximum(np.maximum(shown_k, measured_k), 0.0)
    return np.sqrt(floor_k**2 + (share * rise_k) ** 2 + (TAIL_SHARE * largest_k) ** 2)


class Lit:
    """Log-likelihood of each member, were it lit from outside."""

    def __init__(self, members: int) -> None:
        self._misfit, self._bends, self._most_k = (np.zeros(members) for _ in range(3))
        self._added_k = {node: np.zeros(members) for node in Node}
        self._largest_k = 0.0
        self._rises: deque[float] = deque(maxlen=2 * BEND_LOOKS + 1)

    def take(
        self,
        node: Node,
        measured_k: float,
        shown_k: Array,
        floor_k: float,
        gelled: Mask,
        temper: float,
    ) -> None:
        """Take in one rise over the shop (K), and what each member would show of it.

        `temper` is the share of one independent reading that it counts for.
        """
        beyond_k = np.maximum(measured_k - shown_k, 0.0)
        lit_k = np.where(beyond_k > LEAST_K, beyond_k, 0.0)
        added_k = np.where(gelled, np.minimum(beyond_k, KEPT * self._added_k[node]), lit_k)
        self._added_k[node] = added_k
        self._largest_k = max(self._largest_k, measured_k)
        sd = width_k(measured_k, shown_k, floor_k, RISE_SHARE, self._largest_k)
        misfit = np.minimum(np.abs(measured_k - shown_k - added_k) / sd, FARTHEST_MISFIT)
        self._misfit += temper * (0.5 * misfit**2 + np.log(sd / floor_k))
        if node is Node.LAMINATE:
            self._rises.append(measured_k)
            self._bends[~gelled] += temper * self._bend()
            self._most_k = np.maximum(self._most_k, np.where(gelled, 0.0, beyond_k))

    def log_likelihood(self) -> Array:
        """Give it, the prices taken off."""
        price = CLAIM + self._bends + 0.5 * (self._most_k / USUAL_K) ** 2
        return np.asarray(-self._misfit - price)

    def _bend(self) -> float:
        """Price of a rise that gathers way."""
        if len(self._rises) < 2 * BEND_LOOKS + 1:
            return 0.0
        bend_k = self._rises[-1] - 2.0 * self._rises[BEND_LOOKS] + self._rises[0]
        bend = min(max(bend_k / BEND_SD_K, 0.0), FARTHEST_BEND)
        return 0.5 * bend**2
