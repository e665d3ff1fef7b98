"""CPU of a day's temperature integral, beside scipy's LSODA on the same readings at equal error.

theta = integral of exp[-(E/R)(1/T - 1/T25)] dt over readings joined by straight lines, E = 52
kJ/mol, of one couple with a resolution of 1/128 K and 0.02 K of noise: a shop's day and a kick.
Ours is the three points a piece of `kinetics.induction_gain`. LSODA takes the loosest of a ladder
of tolerances that comes within the error asked for; where none does, its tightest. What is exact:
ten points of Gauss and Legendre on every piece, by numpy's own table, summed by `math.fsum`.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from time import process_time

import numpy as np
import numpy.typing as npt
from scipy.integrate import solve_ivp

from firmware_host.physics.kinetics import T25_K, Kinetics, induction_gain
from tests.bench.counts import Count, Counted

NAME = "integral_speed"
Array = npt.NDArray[np.float64]

E_OVER_R_K = 52_000.0 / 8.31446261815324
DAY_S, SAMPLE_S = 86_400.0, 900.0
TURNS = 5
TOLERANCES = (1e-4, 1e-6, 1e-8)
CASES = (("10 Hz", 0.1, 5e-6, 1.0 / 6.0), ("1 s means", 1.0, 1e-5, 1.0 / 20.0))
"""Name, s between readings, relative error allowed, share of LSODA's CPU allowed."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Run:
    """One way to integrate, once."""

    cpu_s: float
    error: float


def run(seed: int, *, full: bool) -> Counted:
    """Integrate a day, or a quarter of an hour, both ways."""
    span_s = DAY_S if full else SAMPLE_S
    counts, lines = [], []
    for name, every_s, allowed, share in CASES:
        temps_k = readings(seed, span_s, every_s)
        exact = exactly(temps_k, every_s)
        ours = _best([_timed(partial(gained, temps_k, every_s), exact) for _ in range(TURNS)])
        peer, tolerance = _lsoda(temps_k, every_s, exact, allowed)
        counts += [
            Count(what=f"{name}: CPU over LSODA's", value=ours.cpu_s / peer.cpu_s, at_most=share),
            Count(what=f"{name}: relative error", value=ours.error, at_most=allowed),
        ]
        lines.append(
            f"{name:<10} {len(temps_k):>7,} readings: ours {ours.cpu_s * 1e3:9.3f} ms, error "
            f"{ours.error:.1e}; LSODA {peer.cpu_s * 1e3:9.1f} ms, error {peer.error:.1e} "
            f"at rtol {tolerance:g}"
        )
    return Counted(name=NAME, counts=tuple(counts), lines=tuple(lines))


def readings(seed: int, span_s: float, every_s: float) -> Array:
    """Temperatures of one couple in K: always the same 10 Hz, or means of them."""
    rng = np.random.default_rng(seed)
    time_s = np.arange(0.0, span_s + 0.05, 0.1)
    kick = 18.0 * np.exp(-(((time_s - 0.4 * span_s) / (0.06 * span_s)) ** 2))
    smooth = 293.15 + 3.0 * np.sin(2.0 * np.pi * time_s / DAY_S) + kick
    fine = np.round((smooth + rng.normal(0.0, 0.02, len(time_s))) * 128.0) / 128.0
    each = round(every_s / 0.1)
    return np.asarray(
        fine if each == 1 else fine[: len(fine) // each * each].reshape(-1, each).mean(axis=1)
    )


def gained(temps_k: Array, every_s: float) -> float:
    """Ours: the followers' own integral, a piece between each two readings."""
    one = np.ones(1)
    clock = Kinetics(
        induction_per_s=one,
        induction_j_per_mol=one * 52_000.0,
        rate_per_s=one,
        rate_j_per_mol=one,
        seed=one,
        order_m=one,
        order_n=one,
        limit_at_20c=one,
        limit_per_k=one,
    )
    return float(np.sum(induction_gain(clock, temps_k[:-1], temps_k[1:], every_s)))


def exactly(temps_k: Array, every_s: float) -> float:
    """Ten points a piece."""
    nodes, weights = np.polynomial.legendre.leggauss(10)
    first, slope = temps_k[:-1], np.diff(temps_k)
    speed = np.zeros(len(first))
    for node, weight in zip(nodes, weights, strict=True):
        speed += 0.5 * weight * _speed(first + 0.5 * (1.0 + node) * slope)
    return every_s * math.fsum(speed)


def _speed(temp_k: Array) -> Array:
    return np.asarray(np.exp(E_OVER_R_K * (1.0 / T25_K - 1.0 / temp_k)))


def _lsoda(temps_k: Array, every_s: float, exact: float, allowed: float) -> tuple[Run, float]:
    """LSODA at the loosest tolerance that comes near enough."""
    known, last = temps_k.tolist(), len(temps_k) - 2

    def slope(time_s: float, _: Array) -> list[float]:
        index = min(int(time_s / every_s), last)
        share = time_s / every_s - index
        temp_k = known[index] + share * (known[index + 1] - known[index])
        return [math.exp(E_OVER_R_K * (1.0 / T25_K - 1.0 / temp_k))]

    def solved(tolerance: float) -> float:
        until_s = every_s * (len(temps_k) - 1)
        found = solve_ivp(
            slope, (0.0, until_s), [0.0], method="LSODA", rtol=tolerance, atol=1e-9
        )  # fmt: skip
        return float(found.y[0, -1])

    took = Run(cpu_s=math.inf, error=math.inf)
    for tolerance in TOLERANCES:
        took = _timed(partial(solved, tolerance), exact)
        if took.error <= allowed:
            break
    return took, tolerance


def _timed(integrate: Callable[[], float], exact: float) -> Run:
    start_s = process_time()
    value = integrate()
    return Run(cpu_s=process_time() - start_s, error=abs(value / exact - 1.0))


def _best(runs: list[Run]) -> Run:
    return min(runs, key=lambda one: one.cpu_s)
