"""Pulling a bag down, and where the pump stops getting anywhere. Pure; absolute Pa, s.

A bag of volume V behind an effective pumping speed S follows
p(t) = p_u + (p_0 - p_u) exp(-t S / V), p_u = p_pump + Q / S. S is constant for displacement pumps
above about 1 kPa; a bag still lifts off its part above some 30 kPa and then goes faster than this.
Source: any text on vacuum technique; the cases in the tests are worked by hand.
"""

from __future__ import annotations

import math


def ultimate_pressure_pa(pump_pa: float, leak_pa_per_s: float, tau_s: float) -> float:
    """Give the lowest pressure that a pump reaches in a bag that leaks.

    p_u = p_pump + Q / S = p_pump + r tau, with r the rise of the shut bag and tau = V / S: no
    volume need be known.

    >>> round(ultimate_pressure_pa(500.0, 11.28796, 3.6), 2)
    540.64
    """
    return pump_pa + max(leak_pa_per_s, 0.0) * tau_s


def pull_down_s(from_pa: float, to_pa: float, ultimate_pa: float, tau_s: float) -> float | None:
    """Give the time that a pump needs from one pressure to another.

    t = tau ln((p_0 - p_u) / (p - p_u)); None where it never gets there.

    >>> round(pull_down_s(101325.0, 15000.0, 5000.0, 3.6), 5)
    8.15451
    """
    if from_pa <= to_pa:
        return 0.0
    if to_pa <= ultimate_pa:
        return None
    return tau_s * math.log((from_pa - ultimate_pa) / (to_pa - ultimate_pa))
