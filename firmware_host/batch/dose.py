"""Initiator: percent, grams, millilitres, and drops of a dropper that was weighed.

Pure. A drop is never a fixed factor: tip, tilt and liquid make it 0.01 to 0.08 g, so without a
weighed dropper the answer is a range. An ounce is two things, and must say which.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from firmware_host.batch.resin_need import LIQUID_RESIN_G_PER_ML
from firmware_host.config.plan_tables import Dropper, Ounce

DROP_RANGE_G = (0.01, 0.08)
"""Tate's law, wetted tip of 1 to 3 mm, 30 mN/m; and the spread of published drops per ml."""
DROP_CV = 0.05
"""One drop against the next from one bottle (assumption, no source)."""
SCALE_SD_G = 0.005
"""A scale that shows 0.01 g."""
COUNTING_SD_DROPS = 0.5 / math.sqrt(3.0)
"""Nobody pours part of a drop."""
MOST_DROPS = 50
"""Above this nobody counts right: weigh it."""
TWO_SIDED_95 = 1.959963984540054
FLUID_OUNCE_ML = 29.5735295625
"""US fluid ounce, exact."""
OUNCE_G = 28.349523125
"""Avoirdupois ounce, exact."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Drops:
    """How many drops to count, and what that could be off by."""

    count: int | None
    """None where no dropper was weighed."""
    low: float
    high: float

    @property
    def too_many(self) -> bool:
        """Whether it is better weighed."""
        return (self.count if self.count is not None else self.low) > MOST_DROPS


def drop_g(dropper: Dropper | None) -> float | None:
    """Mass of one drop; None where the dropper was not weighed."""
    if dropper is None or dropper.weighed_g is None or dropper.drops_weighed is None:
        return None
    return dropper.weighed_g / dropper.drops_weighed


def drops_for(initiator_g: float, dropper: Dropper | None) -> Drops:
    """Give the drops that make up so many grams, with the 95 % interval.

    >>> drops_for(2.88, None)
    Drops(count=None, low=36.0, high=288.0)
    """
    each_g = drop_g(dropper)
    if each_g is None or dropper is None:
        high, low = (initiator_g / one for one in DROP_RANGE_G)
        return Drops(count=None, low=round(low, 1), high=round(high, 1))
    exact = initiator_g / each_g
    spread = TWO_SIDED_95 * counting_sd(exact, dropper) * exact
    return Drops(
        count=round(exact), low=round(max(exact - spread, 0.0), 1), high=round(exact + spread, 1)
    )


def counting_sd(drops: float, dropper: Dropper) -> float:
    """Relative standard deviation of a dose that is counted: calibration, drops, rounding."""
    if dropper.weighed_g is None or dropper.drops_weighed is None or drops <= 0.0:
        raise ValueError("only drops of a weighed dropper have a known spread")
    return math.hypot(
        DROP_CV / math.sqrt(dropper.drops_weighed),
        SCALE_SD_G / dropper.weighed_g,
        DROP_CV / math.sqrt(drops),
        COUNTING_SD_DROPS / drops,
    )


def percent_of_drops(drops: float, dropper: Dropper, resin_g: float) -> float | None:
    """Give the initiator per 100 of resin that so many drops are; None for an unweighed dropper."""
    each_g = drop_g(dropper)
    return None if each_g is None else 100.0 * drops * each_g / resin_g


def ounces(resin_g: float, ounce: Ounce) -> float:
    """Resin in ounces of the kind that was said.

    >>> round(ounces(192.28, Ounce.FLUID), 2), round(ounces(192.28, Ounce.WEIGHT), 2)
    (5.91, 6.78)
    """
    if ounce is Ounce.FLUID:
        return resin_g / LIQUID_RESIN_G_PER_ML / FLUID_OUNCE_ML
    return resin_g / OUNCE_G
