"""How fast the pump pulls, learnt whenever the bag's pressure falls to a level and stays there.

Pure. Below some 30 kPa a bag no longer changes its volume, and what is above the final level falls
as e^(-t / tau) with tau = V / S. A leak that makes the shut bag rise by r holds the pumped bag
r tau above where it would be: that is what turns a level into a leak. Of a fall only its end is
used, since a careful person begins with the valve throttled.
"""

from __future__ import annotations

import math

FIT_BELOW_PA = 30_000.0
LEAST_EXCESS_PA = 150.0
LEAST_FALL_PA = 600.0
SHORTEST_S, LONGEST_S = 1.0, 900.0


def pull_down_tau_s(levels_pa: list[float], period_s: float) -> float | None:
    """Give tau of a fall, from block means that end at the level where it came to rest.

    tau = n period / ln(e_i / e_(i+n)), e the excess over the last level; means of an exponential
    over equal blocks have the ratio of the exponential itself. The first block below 30 kPa, in
    which the valve may have been turned, is left out. None where the fall is too small.

    >>> levels = [2000.0 + 10000.0 * math.exp(-t / 10.0) for t in range(0, 100, 5)]
    >>> round(pull_down_tau_s(levels, 5.0), 1)
    10.0
    """
    final_pa = sum(levels_pa[-3:]) / 3.0
    excess = [p - final_pa for p in levels_pa if p < FIT_BELOW_PA]
    if not excess or max(excess) < LEAST_FALL_PA:
        return None
    top = excess.index(max(excess)) + 1
    tail = [e for e in excess[top:-3] if e > LEAST_EXCESS_PA]
    usable = [e for e in tail if e <= 0.6 * max(excess)] or tail
    if not usable:
        return None
    if len(usable) == 1:
        ratio, steps = max(excess) / usable[0], 1
    else:
        ratio, steps = usable[0] / usable[-1], len(usable) - 1
    if ratio <= 1.0:
        return None
    return min(max(steps * period_s / math.log(ratio), SHORTEST_S), LONGEST_S)
