"""How air gets through a hole and through a crack, by the pressure behind it. Pure; absolute Pa.

While the bag is below half the room's pressure a hole is choked and passes the same flow whatever
the bag does; a fine channel through tape or fibre is viscous and slows down from the beginning. A
real leak lies between the two.

Sources: [1] isentropic nozzle flow of a perfect gas, as in ISO 9300; [2] compressible laminar flow
through a long channel (Hagen-Poiseuille). Both are checked in the tests against the masses of real
air and an open library of fluid mechanics.
"""

from __future__ import annotations

import math

from firmware_host.physics.gas import GAS_CONSTANT_J_PER_MOLK

AIR_KG_PER_MOL = 0.0289652
GAMMA = 1.4
"""Ratio of the specific heats of dry air."""
CRITICAL_RATIO = math.pow(2.0 / (GAMMA + 1.0), GAMMA / (GAMMA - 1.0))
"""0.528282: bag over room pressure below which a hole is choked."""
CHOKED_FACTOR = math.sqrt(GAMMA) * math.pow(
    2.0 / (GAMMA + 1.0), (GAMMA + 1.0) / (2.0 * (GAMMA - 1.0))
)
PINHOLE_DISCHARGE = 0.65
"""Of pinholes 0.6 to 0.85; common practice, no source."""


def hole_flow(ratio: float) -> float:
    """Share of p_room A sqrt(Rs T) that a hole passes, by bag over room pressure.

    Choked: sqrt(g) (2 / (g+1))^((g+1) / (2 (g-1))), else
    sqrt(2g/(g-1) (r^(2/g) - r^((g+1)/g))). 0 to 1; holes much wider than 70 nm. [1]

    >>> round(hole_flow(0.1), 6), round(hole_flow(0.8), 6), hole_flow(1.0)
    (0.684731, 0.560661, 0.0)
    """
    _check(ratio)
    if ratio <= CRITICAL_RATIO:
        return CHOKED_FACTOR
    span = math.pow(ratio, 2.0 / GAMMA) - math.pow(ratio, (GAMMA + 1.0) / GAMMA)
    return math.sqrt(max(2.0 * GAMMA / (GAMMA - 1.0) * span, 0.0))


def crack_flow(ratio: float) -> float:
    """Share of its flow into empty space that a viscous crack passes: 1 - r^2, source [2].

    >>> round(crack_flow(0.5), 6)
    0.75
    """
    _check(ratio)
    return 1.0 - ratio * ratio


def hole_diameter_m(
    throughput_pa_m3_per_s: float,
    room_pa: float,
    room_k: float,
    discharge: float = PINHOLE_DISCHARGE,
) -> float:
    """Width of the one choked hole that would pass this: an order of magnitude, no more.

    Q = Cd pi/4 d^2 p_room sqrt(Rs T) psi_choked, solved for d. Real leaks are many small
    channels. Raises ValueError for a flow below 0 or a room without air. [1]

    >>> round(hole_diameter_m(0.01, 101325.0, 293.15) * 1e6, 1)
    31.2
    """
    if throughput_pa_m3_per_s < 0.0 or room_pa <= 0.0 or room_k <= 0.0:
        raise ValueError(
            f"a hole for {throughput_pa_m3_per_s} Pa m3/s from {room_pa} Pa at {room_k} K: "
            "the flow must be at least 0, pressure and temperature above 0"
        )
    speed_m_per_s = math.sqrt(GAS_CONSTANT_J_PER_MOLK / AIR_KG_PER_MOL * room_k)
    area_m2 = throughput_pa_m3_per_s / (discharge * room_pa * speed_m_per_s * CHOKED_FACTOR)
    return math.sqrt(4.0 * area_m2 / math.pi)


def _check(ratio: float) -> None:
    if not 0.0 <= ratio <= 1.0:
        raise ValueError(f"bag over room pressure is {ratio:g}; a leak needs 0 to 1")
