"""Simulated shops whose resin follows the gel law with its own rate, exponents, cans and jobs."""

from __future__ import annotations

import math
import random
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta

from firmware_host.history.outcomes import Kind, Outcome
from firmware_host.physics.gel_time import GAS_CONSTANT_J_PER_MOLK, T20_K, GelLaw

SHOP_SD, CAN_SD, JOB_SD = 0.40, 0.15, 0.08
EXPONENT_SD, ACTIVATION_SD_J_PER_MOL = 0.35, 6000.0
RATIO_SD = 0.25
FIRST_DAY = date(2026, 1, 5)
JOBS_A_CAN = 5
DAYS_BETWEEN = 4

POWER_LAW = GelLaw(
    reference_percent=1.5,
    induction_min_at_25c=20.0,
    induction_j_per_mol=58_000.0,
    induction_exponent=1.0,
    rate_at_25c_per_s=1.0,
    rate_j_per_mol=58_000.0,
    rate_exponent=1.0,
    seed=1.0,
    order_m=1.0,
    order_n=1.0,
    gel_conversion=1e-6,
    limit_at_20c=0.9,
    limit_per_k=0.0,
)
"""Growth is over at once, so dose and temperature act as powers, exactly."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Shop:
    """What is true of one shop; nobody at the bench knows it."""

    rate: float
    exponent: float
    activation_j_per_mol: float
    ratio: float

    def ln_gel(self, temp_k: float, dose: float, can: float) -> float:
        """True ln of the minutes to gel of a shell, without the job's own scatter."""
        hot = (1.0 / temp_k - 1.0 / T20_K) / GAS_CONSTANT_J_PER_MOLK
        off = self.rate + can + self.activation_j_per_mol * hot
        off -= self.exponent * math.log(dose / POWER_LAW.reference_percent)
        return math.log(POWER_LAW.gel_min(temp_k, dose)) + off


def shop_of(rng: random.Random) -> Shop:
    """Draw a shop."""
    return Shop(
        rate=rng.gauss(0.0, SHOP_SD),
        exponent=rng.gauss(0.0, EXPONENT_SD),
        activation_j_per_mol=rng.gauss(0.0, ACTIVATION_SD_J_PER_MOL),
        ratio=math.log(1.35) + rng.gauss(0.0, RATIO_SD),
    )


def jobs_of(shop: Shop, rng: random.Random, count: int) -> Iterator[Outcome]:
    """Pours on ordinary days: 15 to 26 C, 1 to 2.2 %, a new can every few jobs."""
    can = 0.0
    for number in range(count):
        if number % JOBS_A_CAN == 0:
            can = rng.gauss(0.0, CAN_SD)
        temp_k, dose = 273.15 + rng.uniform(15.0, 26.0), rng.uniform(1.0, 2.2)
        ln_gel = shop.ln_gel(temp_k, dose, can) + rng.gauss(0.0, JOB_SD)
        yield Outcome(
            job=f"job {number:04d}",
            on=FIRST_DAY + timedelta(days=DAYS_BETWEEN * number),
            kind=Kind.SHELL,
            resin="polyester",
            lot=f"can {number // JOBS_A_CAN}",
            dose_percent=dose,
            temp_k=temp_k,
            gel_min=math.exp(ln_gel),
        )
