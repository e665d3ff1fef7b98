"""The bank against batches that an outside integrator makes, by a law that the bank does not hold.

scipy's LSODA solves reaction and two-node heat balance together; the reaction is a first-order law
behind an inhibitor clock, the losses differ from the job file.
"""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import numpy.typing as npt
import pytest
from scipy.integrate import solve_ivp

from firmware_host.config.load import parse_job
from firmware_host.cure.filter import CureFilter
from firmware_host.cure.known import Outlook, Temperatures

pytestmark = pytest.mark.campaign

JOB = """
[job]
part = "kayak hatch cover"
initiator_percent = 1.5
[resin]
family = "polyester"
initiator_reference_percent = 1.5
induction_min_at_25c = 36.0
rate_at_25c_per_s = 1.0e-3
[laminate]
thickness_mm = 4.0
resin_mass_fraction = 0.58
"""
SHOP_K = 294.15
BLOCK_S = 5.0
UNTIL_S = 12000.0
Array = npt.NDArray[np.float64]


@cache
def batch(speed: float) -> tuple[Array, Array, float]:
    """Laminate and mould temperature every five seconds, and the true gel."""
    r = 8.314462618

    def rates(_: float, y: Array) -> list[float]:
        z, alpha, lam, mould = (float(v) for v in y)
        hot = 1.0 / lam - 1.0 / 298.15
        growing = 1.0 / (1.0 + np.exp(-(z - 1.0) / 0.004))
        dz = speed / (36.0 * 60.0) * np.exp(-54000.0 / r * hot) if z < 1.2 else 0.0
        k = speed * 0.95e-3 * np.exp(-44000.0 / r * hot)
        da = growing * k * (0.035 + max(alpha, 0.0) ** 0.85) * max(0.78 - alpha, 0.0) ** 1.2
        q = 350.0e3 * 3.83 * da
        c_lam, c_mould = 1650.0 * 0.004 * 1150.0, 18.0e3
        d_lam = (q - 11.0 * (lam - SHOP_K) - 90.0 * (lam - mould)) / c_lam
        d_mould = (90.0 * (lam - mould) - 7.0 * (mould - SHOP_K)) / c_mould
        return [dz, da, d_lam, d_mould]

    times = np.arange(0.0, UNTIL_S, BLOCK_S)
    start = [0.0, 0.0, SHOP_K, SHOP_K]
    found = solve_ivp(rates, (0.0, UNTIL_S), start, t_eval=times, method="LSODA", rtol=1e-8)
    gel_s = float(np.interp(0.05, found.y[1], times))
    return found.y[2], found.y[3], gel_s


def followed(
    speed: float,
    *,
    until_s: float = UNTIL_S,
    blind: tuple[float, float] = (-1.0, -1.0),
    job: str = JOB,
    keep: tuple[str, ...] = ("mould", "shop"),
) -> Outlook:
    lam, mould, _ = batch(speed)
    rng = np.random.default_rng(3)
    noise = rng.normal(size=len(lam)) * 0.15
    curing: CureFilter | None = None
    for number in range(1, int(until_s / BLOCK_S)):
        now_s = number * BLOCK_S
        if blind[0] < now_s < blind[1]:
            continue
        temps = Temperatures(
            time_s=now_s,
            laminate_k=float(lam[number] + noise[number]),
            stand_in_sd_k=0.0,
            mould_k=float(mould[number]) if "mould" in keep else None,
            shop_k=SHOP_K,
            shop_sd_k=0.0 if "shop" in keep else 1.5,
            cup_k=None,
            heated=False,
        )
        if curing is None:
            curing = CureFilter(parse_job(job, "job.toml"), 0.0, replace(temps, time_s=0.0))
        curing.advance(temps)
    assert curing is not None
    return curing.outlook()


@pytest.mark.parametrize("speed", [0.7, 1.0, 1.4])
def test_the_gel_of_a_foreign_batch_is_found_and_covered(speed: float) -> None:
    _, _, gel_s = batch(speed)
    outlook = followed(speed)
    assert outlook.gel_past > 0.99
    assert abs(outlook.gel_s[1] - gel_s) <= 0.10 * gel_s
    assert outlook.gel_s[0] - 0.04 * gel_s <= gel_s <= outlook.gel_s[2] + 0.04 * gel_s


@pytest.mark.parametrize("speed", [0.7, 1.0, 1.4])
def test_before_any_heat_the_window_is_wide_and_holds_the_truth(speed: float) -> None:
    _, _, gel_s = batch(speed)
    outlook = followed(speed, until_s=gel_s / 2.0)
    low, middle, high = outlook.gel_s
    assert low <= gel_s <= high
    assert (high - low) / middle > 0.5


def test_conversion_at_the_end_is_near_and_its_interval_holds_it() -> None:
    outlook = followed(1.0)
    low, middle, high = outlook.conversion
    assert low - 0.05 <= 0.75 <= high + 0.05
    assert 0.0 < low <= middle <= high <= 1.0


def test_a_part_that_never_warms_is_not_said_to_have_gelled() -> None:
    job = parse_job(JOB, "job.toml")
    temps = Temperatures(
        time_s=0.0,
        laminate_k=SHOP_K,
        stand_in_sd_k=0.0,
        mould_k=SHOP_K,
        shop_k=SHOP_K,
        cup_k=None,
        heated=False,
    )
    curing = CureFilter(job, 0.0, temps)
    chances = []
    for number in range(1, 2000):
        curing.advance(replace(temps, time_s=number * BLOCK_S))
        if number % 200 == 0:
            chances.append(curing.outlook().gel_past)
    assert chances[5] < 0.1  # 100 minutes: twice the nominal gel
    assert max(chances) < 0.5


def test_a_lamp_that_is_marked_is_no_exotherm() -> None:
    job = parse_job(JOB, "job.toml")
    base = Temperatures(
        time_s=0.0,
        laminate_k=SHOP_K,
        stand_in_sd_k=0.0,
        mould_k=SHOP_K,
        shop_k=SHOP_K,
        cup_k=None,
        heated=False,
    )
    marked, unmarked = CureFilter(job, 0.0, base), CureFilter(job, 0.0, base)
    for number in range(1, 300):
        now_s = number * BLOCK_S
        warm = SHOP_K + min(max(now_s - 600.0, 0.0) / 60.0, 8.0)
        temps = replace(base, time_s=now_s, laminate_k=warm, mould_k=warm - 1.0)
        marked.advance(replace(temps, heated=now_s >= 600.0))
        unmarked.advance(temps)
    assert marked.outlook().gel_past < 0.05
    assert marked.outlook().gel_past <= unmarked.outlook().gel_past


def test_an_hour_without_readings_widens_the_answer_and_breaks_nothing() -> None:
    _, _, gel_s = batch(1.0)
    seen = followed(1.0, until_s=gel_s + 3000.0)
    blind = followed(1.0, until_s=gel_s + 3000.0, blind=(gel_s - 2400.0, gel_s + 1200.0))
    assert blind.gel_s[2] - blind.gel_s[0] > seen.gel_s[2] - seen.gel_s[0]
    assert blind.gel_s[0] <= gel_s <= blind.gel_s[2]
    assert blind.gel_past > 0.5


@pytest.mark.parametrize("keep", [("shop",), ("mould",), ()])
def test_missing_witnesses_widen_and_never_break(keep: tuple[str, ...]) -> None:
    outlook = followed(1.0, keep=keep, until_s=6000.0)
    assert all(np.isfinite(value) for value in (*outlook.gel_s, *outlook.conversion))


def test_a_resin_without_an_inhibitor_grows_from_the_mixing_on() -> None:
    job = '[job]\npart = "fairing"\n[resin]\nfamily = "epoxy"\n'
    outlook = followed(1.0, job=job, until_s=3000.0)
    assert outlook.conversion[1] > 0.0
    assert all(np.isfinite(outlook.gel_s))


def test_two_runs_give_the_same_numbers() -> None:
    assert followed(1.4, until_s=4000.0) == followed(1.4, until_s=4000.0)
