"""Pours of a batch that is not the code's own: another integrator, laws a little different.

scipy's adaptive integrator on a two-node heat balance; the growth starts with a trickle instead of
a seed, the throttle has another form, and the mould loses heat by a law that bends with warmth.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.integrate import solve_ivp

from firmware_host.config.load import parse_job
from firmware_host.config.schema import JobDescription
from firmware_host.cure.filter import CureFilter, Temperatures

GAS_CONSTANT = 8.31446261815324
T25_K = 298.15
BLOCK_S = 5.0
POLYESTER = """
[job]
part = "kayak hatch cover"
initiator_percent = 1.5
[resin]
family = "polyester"
initiator_reference_percent = 1.5
induction_min_at_25c = 36.0
induction_activation_kj_per_mol = 52.0
induction_initiator_exponent = 0.8
rate_at_25c_per_s = 1.0e-3
rate_activation_kj_per_mol = 46.0
rate_initiator_exponent = 0.48
seed_fraction = 0.03
order_m = 0.8
order_n = 1.4
gel_conversion = 0.05
heat_of_cure_kj_per_kg = 360.0
conversion_limit_at_20c = 0.70
conversion_limit_per_k = 0.0035
[laminate]
thickness_mm = 4.0
area_m2 = 0.6
resin_mass_fraction = 0.58
"""
EPOXY = """
[job]
part = "drone belly fairing"
[resin]
family = "epoxy"
hardener_parts_per_100 = 30.0
[laminate]
thickness_mm = 3.0
"""

Array = npt.NDArray[np.float64]


def job_of(text: str = POLYESTER) -> JobDescription:
    return parse_job(text, "job.toml")


@dataclass(frozen=True, slots=True, kw_only=True)
class Pour:
    """What really happened, every five seconds from mixing on."""

    time_s: Array
    laminate_k: Array
    mould_k: Array
    shop_k: float
    conversion: Array
    gel_s: float

    def readings(self, *, sd_k: float = 0.15, bead: float = 0.9) -> Iterator[Temperatures]:
        """Give what couples would show: a bead that reads low, noise, steps of a quarter kelvin."""
        rng = np.random.default_rng(3)
        for at_s, part_k, mould_k in zip(self.time_s, self.laminate_k, self.mould_k, strict=True):
            shown = self.shop_k + bead * (part_k - self.shop_k)
            noise = rng.normal(0.0, sd_k / 2.0, 3)
            yield temperatures(
                float(at_s), shown + noise[0], mould_k + noise[1], self.shop_k + noise[2]
            )


def temperatures(
    time_s: float, laminate_k: float, mould_k: float | None, shop_k: float | None
) -> Temperatures:
    return Temperatures(
        time_s=time_s,
        laminate_k=float(laminate_k),
        stand_in_sd_k=0.0,
        mould_k=None if mould_k is None else float(mould_k),
        shop_k=None if shop_k is None else float(shop_k),
        cup_k=None,
        heated=False,
    )


def pour(rate: float, *, shop_c: float = 21.0, until_s: float = 7200.0) -> Pour:
    """Let a batch react whose clock and growth run at `rate` times the job's nominal numbers."""
    shop_k = shop_c + 273.15
    time_s = np.arange(0.0, until_s, BLOCK_S)
    found = solve_ivp(
        _law(rate, shop_k),
        (0.0, until_s),
        [0.0, 0.0, shop_k, shop_k],
        t_eval=time_s,
        max_step=10.0,
        rtol=1e-6,
    )
    _, alpha, laminate_k, mould_k = found.y
    gel_s = float(np.interp(0.05, alpha, time_s)) if alpha[-1] > 0.05 else float("inf")
    return Pour(
        time_s=time_s,
        laminate_k=laminate_k,
        mould_k=mould_k,
        shop_k=shop_k,
        conversion=alpha,
        gel_s=gel_s,
    )


def _law(rate: float, shop_k: float) -> Callable[[float, Array], list[float]]:
    mass = 1650.0 * 0.004
    heat, store, mould_store = 345e3 * mass * 0.58, mass * 1150.0, 17500.0

    def change(_time_s: float, state: Array) -> list[float]:
        clock, alpha, laminate_k, mould_k = state
        warm = 1.0 / laminate_k - 1.0 / T25_K
        clock_rate = rate / 2160.0 * np.exp(-55e3 / GAS_CONSTANT * warm)
        started = 1.0 if clock >= 1.0 else 0.0
        k = rate * 1.0e-3 * np.exp(-48e3 / GAS_CONSTANT * warm)
        limit = 0.72 + 0.003 * (laminate_k - 293.15)
        room = max(1.0 - alpha / limit, 0.0)
        growth = started * k * (0.028 + max(alpha, 0.0) ** 0.75) * (1.0 - alpha) ** 1.3 * room**0.3
        to_mould = 95.0 * (laminate_k - mould_k)
        to_room = 8.0 * (laminate_k - shop_k)
        behind = 5.0 * (mould_k - shop_k) * (1.0 + 0.01 * max(mould_k - shop_k, 0.0))
        return [
            clock_rate,
            growth,
            (heat * growth - to_mould - to_room) / store,
            (to_mould - behind) / mould_store,
        ]

    return change


def followed(job: JobDescription, readings: Iterator[Temperatures]) -> CureFilter:
    """Take a filter through readings."""
    first = next(readings)
    cure = CureFilter(job, first.time_s, first)
    for now in readings:
        cure.advance(now)
    return cure
