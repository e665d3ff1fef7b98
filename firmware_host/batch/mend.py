"""What would mend a window that is too short or too late: dose, temperature, two cups.

Pure. Nothing outside the dose range or below the cold limit is ever proposed.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

from firmware_host.batch.checks import DoseLimits
from firmware_host.batch.work_window import Window

WindowAt = Callable[[float, float], Window]
"""Window at a temperature in degC and a dose in percent."""

SPARE = 1.10
"""A dose is proposed from this much spare time down to none."""
DOSE_STEP = 0.1
HALVINGS = 40
WARMEST_C = 30.0


@dataclass(frozen=True, slots=True, kw_only=True)
class DoseRange:
    """Doses that give the wanted window, in steps that a person weighs."""

    low: float
    high: float


def dose_for(
    wanted_min: float, at: WindowAt, temp_c: float, limits: DoseLimits
) -> DoseRange | None:
    """Give the doses whose bag-sealed gate leaves the wanted minutes with up to a tenth to spare.

    None where none inside the limits does. More initiator always shortens the window.
    """
    most = _highest_dose(wanted_min, at, temp_c, limits)
    if most is None:
        return None
    spare = _highest_dose(wanted_min * SPARE, at, temp_c, limits)
    high = _down(most)
    low = min(_up(limits.lowest if spare is None else spare), high)
    if high < limits.lowest:
        return DoseRange(low=limits.lowest, high=limits.lowest)
    return DoseRange(low=low, high=high)


def coolest_that_fits(
    wanted_min: float, at: WindowAt, temp_c: float, dose: float, floor_c: float
) -> float | None:
    """Give the highest temperature, below today's, at which the dose leaves the wanted minutes."""
    if at(floor_c, dose).sealed_by_min < wanted_min or temp_c <= floor_c:
        return None
    low_c, high_c = floor_c, temp_c
    for _ in range(HALVINGS):
        middle_c = 0.5 * (low_c + high_c)
        if at(middle_c, dose).sealed_by_min >= wanted_min:
            low_c = middle_c
        else:
            high_c = middle_c
    return low_c


def warmest_needed(latest_min: float, at: WindowAt, temp_c: float, dose: float) -> float | None:
    """Give the lowest temperature above today's at which the gel comes by `latest_min`."""
    if at(WARMEST_C, dose).gel_min > latest_min or temp_c >= WARMEST_C:
        return None
    low_c, high_c = temp_c, WARMEST_C
    for _ in range(HALVINGS):
        middle_c = 0.5 * (low_c + high_c)
        if at(middle_c, dose).gel_min > latest_min:
            low_c = middle_c
        else:
            high_c = middle_c
    return high_c


def lowest_dose_by(
    latest_min: float, at: WindowAt, temp_c: float, limits: DoseLimits
) -> float | None:
    """Give the lowest dose, in a step a person weighs, whose gel comes by `latest_min`."""
    if at(temp_c, limits.highest).gel_min > latest_min:
        return None
    low, high = limits.lowest, limits.highest
    if at(temp_c, low).gel_min <= latest_min:
        return low
    for _ in range(HALVINGS):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if at(temp_c, middle).gel_min > latest_min else (low, middle)
    return min(_up(high), limits.highest)


def _highest_dose(
    wanted_min: float, at: WindowAt, temp_c: float, limits: DoseLimits
) -> float | None:
    def fits(dose: float) -> bool:
        return at(temp_c, dose).sealed_by_min >= wanted_min

    if not fits(limits.lowest):
        return None
    low, high = limits.lowest, limits.highest
    if fits(high):
        return high
    for _ in range(HALVINGS):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if fits(middle) else (low, middle)
    return low


def _down(dose: float) -> float:
    return round(math.floor(dose / DOSE_STEP + 1e-9) * DOSE_STEP, 2)


def _up(dose: float) -> float:
    return round(math.ceil(dose / DOSE_STEP - 1e-9) * DOSE_STEP, 2)
