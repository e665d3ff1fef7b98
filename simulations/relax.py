"""Exact solution of two coupled linear quantities: two gas volumes joined by a hose.

Pure. Exact for any step, so a stiff pair (a short hose, a small trap) needs no small step.
"""

from __future__ import annotations

import math


def relax_pair(
    a: float, b: float, c: float, d: float, rates: tuple[float, float], dt_s: float
) -> tuple[float, float]:
    """Exact change over `dt_s` of two coupled linear quantities: dt phi1(M dt) rates.

    M = ((a, b), (c, d)) per second with b c >= 0, so its eigenvalues are real.
    """
    mean, half = 0.5 * (a + d) * dt_s, math.hypot(0.5 * (a - d), math.sqrt(b * c)) * dt_s
    high, low = _phi1(mean + half), _phi1(mean - half)
    blend = 0.0 if half == 0.0 else (high - low) / (2.0 * half)
    first, second = rates[0] * dt_s, rates[1] * dt_s
    offset = low - blend * (mean - half)
    return (
        offset * first + blend * dt_s * (a * first + b * second),
        offset * second + blend * dt_s * (c * first + d * second),
    )


def _phi1(z: float) -> float:
    """(e^z - 1) / z, also where z vanishes."""
    return 1.0 + 0.5 * z if abs(z) < 1e-7 else math.expm1(z) / z
