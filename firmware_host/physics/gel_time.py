"""Gel time of one batch at one temperature: the law of `kinetics`, for a single set of numbers.

    t_gel = t_ind(T, dose) + G(T) / k(T, dose)
    G     = integral from 0 to gel of d(alpha) / [(seed + alpha^m)(1 - alpha)^n f(alpha, T)]

Plain arithmetic: a plan on a small board must not wait for an array library to load.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

GAS_CONSTANT_J_PER_MOLK = 8.31446261815324
T25_K = 298.15
T20_K = 293.15
THROTTLE_STEEPNESS = 50.0
THROTTLE_OFFSET = 0.05
NODES = 33
"""Simpson nodes of the growth integral, crowded where the reaction starts."""
UNTHROTTLED, FAR_LIMIT = -12.0, 10.0
"""Below this exponent at the gel the throttle takes off less than 1e-5, and is left out."""
DRIFT_STEP_S = 20.0
SHORTEST_MIN, NEVER_MIN, LARGEST_LN = 1e-3, 1e9, 100.0
LONGEST_MIN = 10_000.0
"""A week; a resin that has not gelled by then does not."""


@dataclass(frozen=True, slots=True, kw_only=True)
class GelLaw:
    """Numbers of one resin; `scale` fits the whole to a sheet's or a cup's printed time."""

    reference_percent: float
    """0 where no initiator plays a part: then dose and induction drop out."""
    induction_min_at_25c: float
    induction_j_per_mol: float
    induction_exponent: float
    rate_at_25c_per_s: float
    rate_j_per_mol: float
    rate_exponent: float
    seed: float
    order_m: float
    order_n: float
    gel_conversion: float
    limit_at_20c: float
    limit_per_k: float
    scale: float = 1.0

    def gel_min(self, temp_k: float, dose_percent: float) -> float:
        """Minutes from mixing to gel at a steady temperature."""
        dose = self._dose(dose_percent)
        grown = self._growth(temp_k) / self._rate_per_min(temp_k, dose)
        total = self.scale * (self._induction_min(temp_k, dose) + grown)
        return min(max(total, SHORTEST_MIN), NEVER_MIN)

    def gel_min_while_drifting(
        self, start_k: float, end_k: float, tau_min: float, dose_percent: float
    ) -> float:
        """Minutes to gel while the temperature goes from start to end, exp(-t / tau).

        Infinite where it has not gelled within a week.
        """
        dose = self._dose(dose_percent)
        done, growing, step = 0.0, self.reference_percent <= 0.0, DRIFT_STEP_S / 60.0
        needed = self._growth(end_k)
        at_min = 0.0
        while at_min < LONGEST_MIN:
            temp_k = end_k + (start_k - end_k) * math.exp(-(at_min + 0.5 * step) / tau_min)
            speed = self._speed_per_min(temp_k, dose, needed, growing=growing)
            if done + speed * step >= 1.0:
                at_min += (1.0 - done) / speed
                if growing:
                    return at_min
                done, growing = 0.0, True
                continue
            done += speed * step
            at_min += step
        return math.inf

    def induction_s(self, temp_k: float, dose_percent: float) -> float:
        """Seconds that the inhibitor lasts at a steady temperature; 0 for a resin without one."""
        return 60.0 * self.scale * self._induction_min(temp_k, self._dose(dose_percent))

    def speed_per_s(self, conversion: float, temp_k: float, dose_percent: float) -> float:
        """d(alpha)/dt once the inhibitor is gone, throttled near the conversion limit."""
        limit = self.limit_at_20c + self.limit_per_k * (temp_k - T20_K)
        beyond = THROTTLE_STEEPNESS * (conversion - limit + THROTTLE_OFFSET)
        left: float = max(1.0 - conversion, 0.0) ** self.order_n
        rate = self._rate_per_min(temp_k, self._dose(dose_percent)) / (60.0 * self.scale)
        grown: float = self.seed + max(conversion, 0.0) ** self.order_m
        return rate * grown * left / (1.0 + math.exp(min(beyond, 60.0)))

    def _speed_per_min(self, temp_k: float, dose: float, needed: float, *, growing: bool) -> float:
        if growing:
            return self._rate_per_min(temp_k, dose) / (needed * self.scale)
        wait_min = self._induction_min(temp_k, dose) * self.scale
        return math.inf if wait_min <= 0.0 else 1.0 / wait_min

    def _dose(self, dose_percent: float) -> float:
        if self.reference_percent <= 0.0:
            return 1.0
        if dose_percent <= 0.0:
            raise ValueError(f"a dose of {dose_percent} % never starts this resin")
        return dose_percent / self.reference_percent

    def _induction_min(self, temp_k: float, dose: float) -> float:
        if self.reference_percent <= 0.0 or self.induction_min_at_25c <= 0.0:
            return 0.0
        slower = self.induction_j_per_mol / GAS_CONSTANT_J_PER_MOLK * _spread(temp_k)
        return self.induction_min_at_25c * _exp(slower - self.induction_exponent * math.log(dose))

    def _rate_per_min(self, temp_k: float, dose: float) -> float:
        slower = self.rate_j_per_mol / GAS_CONSTANT_J_PER_MOLK * _spread(temp_k)
        faster = _exp(self.rate_exponent * math.log(dose) - slower)
        return 60.0 * self.rate_at_25c_per_s * faster

    def _growth(self, temp_k: float) -> float:
        limit = self.limit_at_20c + self.limit_per_k * (temp_k - T20_K)
        if THROTTLE_STEEPNESS * (self.gel_conversion - limit + THROTTLE_OFFSET) < UNTHROTTLED:
            limit = FAR_LIMIT
        return _growth_needed(self.gel_conversion, self.seed, self.order_m, self.order_n, limit)


@lru_cache(maxsize=64)
def _growth_needed(gel: float, seed: float, order_m: float, order_n: float, limit: float) -> float:
    """Dimensionless time k t to the gel; kept, because most temperatures share it."""
    total = 0.0
    for node in range(NODES):
        share = node / (NODES - 1)
        alpha = gel * share**3
        stride = 3.0 * share**2 * gel
        speed = (seed + alpha**order_m) * (1.0 - alpha) ** order_n
        held = 1.0 + math.exp(min(THROTTLE_STEEPNESS * (alpha - limit + THROTTLE_OFFSET), 60.0))
        weight = 1.0 if node in (0, NODES - 1) else 4.0 if node % 2 else 2.0
        total += weight * stride * held / speed
    return total / (3.0 * (NODES - 1))


def _exp(ln: float) -> float:
    """Give exp, held where no kitchen goes, so that nonsense stays a number."""
    return math.exp(min(max(ln, -LARGEST_LN), LARGEST_LN))


def _spread(temp_k: float) -> float:
    if temp_k <= 0.0:
        raise ValueError(f"{temp_k} K is no temperature; it must be above 0")
    return 1.0 / temp_k - 1.0 / T25_K


def steady_equivalent_k(law: GelLaw, gel_min: float, dose_percent: float) -> float:
    """Give the steady temperature at which the law gels after `gel_min`, between -40 and 120 C.

    The law's time falls strictly with temperature, so halving finds it.
    """
    low_k, high_k = 233.15, 393.15
    for _ in range(50):
        middle_k = 0.5 * (low_k + high_k)
        if law.gel_min(middle_k, dose_percent) > gel_min:
            low_k = middle_k
        else:
            high_k = middle_k
    return 0.5 * (low_k + high_k)
