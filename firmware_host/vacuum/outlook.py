"""How long the vacuum lasts at a leak, and how deep is wise.

Pure. A leak into a deep bag is choked, so that the bag rises along a straight line; limits above
half an atmosphere are reached a little later than is said. Vapour: a bag at less than 1.5 times the
vapour pressure of styrene at the laminate's present temperature makes bubbles; it is the exotherm,
not the cold hold, that gets there.
"""

from __future__ import annotations

import numpy as np

from firmware_host.physics.gas import styrene_pressure_pa

LONGEST_MIN = 24.0 * 60.0
POROSITY_MARGIN = 1.5


def minutes_to_limit(
    level_pa: float, limit_pa: float, low_pa_per_s: float, high_pa_per_s: float
) -> tuple[float, float | None] | None:
    """Give soonest and latest minute at which a bag that nothing pumps reaches its limit.

    None where it is there already or does not rise; the latest is None beyond a day.

    >>> minutes_to_limit(3000.0, 15000.0, 10.0, 20.0)
    (10.0, 20.0)
    """
    if level_pa >= limit_pa or high_pa_per_s <= 0.0:
        return None
    left_pa = limit_pa - level_pa
    soonest = left_pa / high_pa_per_s / 60.0
    if soonest > LONGEST_MIN:
        return None
    latest = left_pa / low_pa_per_s / 60.0 if low_pa_per_s > 0.0 else None
    return soonest, latest if latest is not None and latest <= LONGEST_MIN else None


def deepest_wise_pa(laminate_k: float) -> float:
    """Give the lowest bag pressure that leaves a margin to boiling styrene.

    p = 1.5 psat(T). Pure styrene: resin, with 40 % of it, boils a tenth lower, on the safe side.

    >>> round(deepest_wise_pa(298.15))
    1251
    """
    return POROSITY_MARGIN * float(styrene_pressure_pa(np.array([laminate_k]))[0])
