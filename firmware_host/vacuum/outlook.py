"""How long the vacuum lasts at a leak, whether that is past the kick, and how much air comes in.

Pure. A leak lies between two laws: a hole, choked and steady until the bag is at half the room's
pressure, and a viscous crack, which slows down from the beginning. The soonest end of an answer
takes the faster law with the larger leak, the latest the slower law with the smaller one.
"""

from __future__ import annotations

import math
from enum import StrEnum

from firmware_host.physics.gas import GasPart, leak_at_room_pa_m3_per_s, room_air_cm3_per_min
from firmware_host.physics.holes import CRITICAL_RATIO, hole_flow

LONGEST_MIN = 24.0 * 60.0
WARM_SHARE = 0.3
"""Share of the bag's gas that is as warm as the laminate; hose and pot hold the rest. Common
practice, no source."""
USUAL_ROOM_K = 293.15
STEPS = 32


class AgainstKick(StrEnum):
    """Where the end of the vacuum lies against the kick."""

    BEFORE = "before"
    AFTER = "after"
    UNSURE = "unsure"
    KICKED = "kicked"
    """It has kicked already: the vacuum matters less."""


def minutes_to_limit(
    level_pa: float, limit_pa: float, low_pa_per_s: float, high_pa_per_s: float, room_pa: float
) -> tuple[float, float | None] | None:
    """Give soonest and latest minute at which a bag that nothing pumps reaches its limit.

    `low` and `high` bound the rise at the present level. None where it is there already, does not
    rise, or the room itself is not above the limit; the latest is None beyond a day.

    >>> minutes_to_limit(3000.0, 15000.0, 10.0, 20.0, 101325.0)[0]
    10.0
    """
    if not 0.0 <= level_pa < limit_pa < room_pa or high_pa_per_s <= 0.0:
        return None
    soonest = hole_rise_s(level_pa, limit_pa, high_pa_per_s, room_pa) / 60.0
    if soonest > LONGEST_MIN:
        return None
    if low_pa_per_s <= 0.0:
        return soonest, None
    latest = crack_rise_s(level_pa, limit_pa, low_pa_per_s, room_pa) / 60.0
    return soonest, latest if latest <= LONGEST_MIN else None


def hole_rise_s(from_pa: float, to_pa: float, rise_pa_per_s: float, room_pa: float) -> float:
    """Give the time in which a hole lets a bag rise; `rise_pa_per_s` is the one at the start.

    Straight while choked, then the integral of dp / flow(p), by Simpson's rule.

    >>> round(hole_rise_s(15000.0, 50000.0, 52.69, 101325.0), 2)
    664.26
    """
    here = hole_flow(from_pa / room_pa)
    straight_to_pa = min(to_pa, max(from_pa, CRITICAL_RATIO * room_pa))
    lasts_s = (straight_to_pa - from_pa) / rise_pa_per_s
    step_pa = (to_pa - straight_to_pa) / STEPS
    if step_pa <= 0.0:
        return lasts_s
    total = 0.0
    for place in range(STEPS + 1):
        weight = 1.0 if place in (0, STEPS) else 4.0 if place % 2 else 2.0
        total += weight * here / hole_flow((straight_to_pa + place * step_pa) / room_pa)
    return lasts_s + total * step_pa / 3.0 / rise_pa_per_s


def crack_rise_s(from_pa: float, to_pa: float, rise_pa_per_s: float, room_pa: float) -> float:
    """Give the time in which a viscous crack does, in closed form.

    dp/dt = r (1 - x^2) / (1 - x0^2), x = p / p_room, so t = (1 - x0^2) p_room / r
    (artanh x - artanh x0).

    >>> round(crack_rise_s(0.0, 50662.5, 10.0, 101325.0), 1)
    5565.8
    """
    start, end = from_pa / room_pa, to_pa / room_pa
    return (1.0 - start * start) * room_pa / rise_pa_per_s * (math.atanh(end) - math.atanh(start))


def against_kick(
    soonest_s: float, latest_s: float | None, gel_low_s: float, gel_high_s: float
) -> AgainstKick:
    """Say whether the vacuum ends before the kick; all four on the job's time line.

    >>> against_kick(600.0, 900.0, 1200.0, 2000.0).value
    'before'
    """
    if latest_s is not None and latest_s < gel_low_s:
        return AgainstKick.BEFORE
    return AgainstKick.AFTER if soonest_s > gel_high_s else AgainstKick.UNSURE


def leak_pa_m3_per_s(
    rise_pa_per_s: float, volume_l: float, laminate_k: float | None, shop_k: float | None
) -> float:
    """Give the throughput of room air behind a rise; a warm laminate holds fewer moles.

    >>> round(leak_pa_m3_per_s(3386.389 / 300.0, 3.0, None, None), 6)
    0.033864
    """
    room_k = shop_k if shop_k is not None else USUAL_ROOM_K
    warm_k = laminate_k if laminate_k is not None else room_k
    volume_m3 = volume_l / 1000.0
    parts = (
        GasPart(volume_m3=WARM_SHARE * volume_m3, temp_k=warm_k),
        GasPart(volume_m3=(1.0 - WARM_SHARE) * volume_m3, temp_k=room_k),
    )
    return leak_at_room_pa_m3_per_s(rise_pa_per_s, parts, room_k)


def leak_cm3_per_min(
    rise_pa_per_s: float,
    volume_l: float,
    laminate_k: float | None,
    shop_k: float | None,
    room_pa: float,
) -> float:
    """Give the same in cm3 of room air a minute."""
    flow = leak_pa_m3_per_s(rise_pa_per_s, volume_l, laminate_k, shop_k)
    return room_air_cm3_per_min(flow, room_pa)
