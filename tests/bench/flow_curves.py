"""Operating curves of the detectors between drop tests: false calls against delay.

Two detectors are told block means made by formula, five seconds each: the level of a bag behind a
pump that runs, and the rise in the pauses of a pump that cycles. The gauge has white noise of 28 Pa
at 0.5 Hz and wanders as an Ornstein-Uhlenbeck process, 15 Pa within 600 s or 25 Pa within 100 s.
`sureness` multiplies the thresholds that ship (1). Nothing here is the simulator or its plant.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from statistics import median

import numpy as np

from firmware_host.vacuum.isolated_rate import IsolatedRate
from firmware_host.vacuum.shift import ShiftDetector
from firmware_host.vacuum.track import BLOCK_S, Track
from tests.bench.figures import Found, Goal, Pair

NAME = "flow_curves"
GOAL = Goal(ratio=1.0)
SURENESS = (0.4, 0.55, 0.7, 0.85, 1.0, 1.2)
BLOCK_NOISE_PA = 28.0 / 2.5**0.5
WANDERS = ((15.0, 600.0), (25.0, 100.0))
LEVEL_STEPS_PA = (60.0, 100.0, 200.0, 400.0)
LEAK_STEPS = (1.5, 2.0, 4.0, 8.0)
"""In units of the limit, from 0.3 of it."""
LIMIT_PA_PER_S, SHARE, HEALTHY = 3.3, 0.7, 0.3
BAND_PA = (4000.0, 8000.0)
SETTLING_PA, SETTLING_S = 200.0, 60.0
HOUR = round(3600.0 / BLOCK_S)
LEAD, AFTER = HOUR, HOUR
YEAR_H = 24.0 * 365.0
FULL_DAYS, FULL_STEPS = 12, 40
SAMPLE_DAYS, SAMPLE_STEPS = 1, 1


@dataclass(frozen=True, slots=True, kw_only=True)
class Point:
    """One point of a curve."""

    detector: str
    sureness: float
    hours: float
    false: int
    delays_s: tuple[tuple[float, ...], ...]
    """For each size, one delay for each step; infinite where it was missed."""


def run(seed: int, *, full: bool) -> Found:
    """Draw both curves."""
    days, steps = (FULL_DAYS, FULL_STEPS) if full else (SAMPLE_DAYS, SAMPLE_STEPS)
    turns = SURENESS if full else (1.0,)
    points = [
        point
        for sureness in turns
        for point in (
            _level_point(seed, sureness, days, steps),
            _pause_point(seed, sureness, days, steps),
        )
    ]
    shipped = [p for p in points if p.sureness == 1.0]
    hours = sum(p.hours for p in shipped)
    false = sum(p.false for p in shipped)
    return Found(
        name=NAME,
        ours="false calls of both detectors at the thresholds that ship, in a thousand hours",
        peer="one in a thousand hours",
        goal=GOAL,
        pairs=(Pair(ours=1000.0 * false / hours, peer=1.0),),
        notes=(*_head(days, steps), *_rows(points)),
    )


# --- the gauge ----------------------------------------------------------------------------------


def wandering(rng: np.random.Generator, wander: tuple[float, float]) -> Iterator[float]:
    """Give what a gauge adds to each block mean, a day at a time, without end."""
    size_pa, tau_s = wander
    keep = math.exp(-BLOCK_S / tau_s)
    now = float(rng.normal(0.0, size_pa))
    while True:
        kicks = rng.normal(0.0, size_pa * math.sqrt(1.0 - keep * keep), 24 * HOUR).tolist()
        whites = rng.normal(0.0, BLOCK_NOISE_PA, 24 * HOUR).tolist()
        for kick, white in zip(kicks, whites, strict=True):
            now = keep * now + kick
            yield now + white


# --- a pump that runs ---------------------------------------------------------------------------


def _level_point(seed: int, sureness: float, days: int, steps: int) -> Point:
    false = 0
    for number, wander in enumerate(WANDERS):
        rng = np.random.default_rng([seed, 1, number])
        false += _level_false(sureness, wandering(rng, wander), days * 24 * HOUR)
    delays = tuple(
        tuple(
            _level_delay_s(
                sureness,
                wandering(np.random.default_rng([seed, 2, size, turn]), WANDERS[turn % 2]),
                step_pa,
            )
            for turn in range(steps)
        )
        for size, step_pa in enumerate(LEVEL_STEPS_PA)
    )
    hours = 24.0 * days * len(WANDERS)
    return Point(
        detector="pump running", sureness=sureness, hours=hours, false=false, delays_s=delays
    )


def _level_false(sureness: float, gauge: Iterator[float], blocks: int) -> int:
    detector, level, false = ShiftDetector(sureness), Track(), 0
    for _ in range(blocks):
        level.add(2000.0 + next(gauge))
        if detector.look(level, BLOCK_NOISE_PA) is not None:
            false += 1
            level = Track()
            detector.begin_anew()
    return false


def _level_delay_s(sureness: float, gauge: Iterator[float], step_pa: float) -> float:
    detector, level = ShiftDetector(sureness), Track()
    for block in range(LEAD + AFTER):
        level.add(2000.0 + next(gauge) + (step_pa if block >= LEAD else 0.0))
        if detector.look(level, BLOCK_NOISE_PA) is None:
            continue
        if block >= LEAD:
            return (block - LEAD + 1) * BLOCK_S
        level = Track()
        detector.begin_anew()
    return math.inf


# --- a pump that cycles -------------------------------------------------------------------------


class Pauses:
    """A bag that rises through its band, settles a little in each pause, and is pulled down."""

    def __init__(self, sureness: float, gauge: Iterator[float]) -> None:
        self._detector = IsolatedRate(LIMIT_PA_PER_S, SHARE, sureness)
        self._gauge = gauge
        self._pull()

    def _pull(self) -> None:
        self._pa, self._age_s = BAND_PA[0], 0.0
        self._track = Track()
        self._detector.begin_rise()

    def calls(self, leak: float) -> bool:
        """Take a block at a leak in units of the limit; tells whether it is called."""
        settled = SETTLING_PA / SETTLING_S * math.exp(-self._age_s / SETTLING_S)
        self._pa += (leak * LIMIT_PA_PER_S * SHARE + settled) * BLOCK_S
        self._age_s += BLOCK_S
        self._track.add(self._pa + next(self._gauge))
        called = self._detector.look(self._track, Track(), BLOCK_NOISE_PA, shut=False)
        if called or self._pa >= BAND_PA[1]:
            self._pull()
        return called


def _pause_point(seed: int, sureness: float, days: int, steps: int) -> Point:
    false = 0
    for number, wander in enumerate(WANDERS):
        pauses = Pauses(sureness, wandering(np.random.default_rng([seed, 3, number]), wander))
        false += sum(pauses.calls(HEALTHY) for _ in range(days * 24 * HOUR))
    delays = tuple(
        tuple(_pause_delay_s(seed, sureness, size, turn, leak) for turn in range(steps))
        for size, leak in enumerate(LEAK_STEPS)
    )
    hours = 24.0 * days * len(WANDERS)
    return Point(
        detector="pump cycling", sureness=sureness, hours=hours, false=false, delays_s=delays
    )


def _pause_delay_s(seed: int, sureness: float, size: int, turn: int, leak: float) -> float:
    rng = np.random.default_rng([seed, 4, size, turn])
    lead = LEAD + int(rng.integers(HOUR))
    pauses = Pauses(sureness, wandering(rng, WANDERS[turn % 2]))
    for _ in range(lead):
        pauses.calls(HEALTHY)
    for block in range(AFTER):
        if pauses.calls(leak):
            return (block + 1) * BLOCK_S
    return math.inf


# --- the table ----------------------------------------------------------------------------------


def _head(days: int, steps: int) -> tuple[str, ...]:
    return (
        f"{days} days at each of two wanders for the false calls, {steps} steps a size",
        f"running: level steps of {', '.join(f'{s:.0f}' for s in LEVEL_STEPS_PA)} Pa; cycling: "
        f"leaks of {', '.join(f'{s:g}' for s in LEAK_STEPS)} x the limit from {HEALTHY:g} x",
        "delay in s: median / 95 %; '-' where so many were missed in an hour",
        f"{'detector':<13} {'sureness':>8} {'false':>6} {'a bench-year':>13}  delays",
    )


def _rows(points: list[Point]) -> list[str]:
    order = sorted(points, key=lambda p: (p.detector, p.sureness))
    return [
        f"{p.detector:<13} {p.sureness:>8.2f} {p.false:>6} {_yearly(p):>13}  "
        + "  ".join(_delay(sizes) for sizes in p.delays_s)
        for p in order
    ]


def _yearly(point: Point) -> str:
    """Rate in a bench-year; where none was seen, what three times as few would have shown once."""
    rate = point.false * YEAR_H / point.hours
    return f"{rate:.1f}" if point.false else f"< {3.0 * YEAR_H / point.hours:.1f}"


def _delay(delays_s: tuple[float, ...]) -> str:
    late = sorted(delays_s)[math.ceil(0.95 * len(delays_s)) - 1]
    return f"{_seconds(median(delays_s)):>5} /{_seconds(late):>5}"


def _seconds(time_s: float) -> str:
    return "-" if math.isinf(time_s) else f"{time_s:.0f}"
