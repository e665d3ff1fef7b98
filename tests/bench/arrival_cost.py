"""What the drop test costs as a reading arrives, beside a running sum over a window of readings.

The peer keeps n, sum t, sum p, sum t^2 and sum t p of the newest 300 readings, the least that any
line through a moving window must do. Looks at the posterior come on top; they are at most one
every five seconds and do not grow with the test.
"""

from __future__ import annotations

from collections import deque
from time import process_time

import numpy as np

from firmware_host.vacuum.isolation import IsolationWindow
from tests.bench.figures import Found, Goal, Pair

NAME = "arrival_cost"
GOAL = Goal(ratio=5.0)
WINDOW = 300
RATES_HZ = (1.0, 10.0)
READINGS = 12_000
FULL_TURNS, SAMPLE_TURNS = 15, 3

Reading = tuple[float, float]


class _RunningLine:
    """Sums for a line through the newest readings."""

    __slots__ = ("_kept", "n", "sp", "st", "stp", "stt")

    def __init__(self) -> None:
        self.n = self.st = self.sp = self.stt = self.stp = 0.0
        self._kept: deque[Reading] = deque()

    def add(self, time_s: float, pressure_pa: float) -> None:
        self.n += 1.0
        self.st += time_s
        self.sp += pressure_pa
        self.stt += time_s * time_s
        self.stp += time_s * pressure_pa
        kept = self._kept
        kept.append((time_s, pressure_pa))
        if len(kept) > WINDOW:
            time_s, pressure_pa = kept.popleft()
            self.n -= 1.0
            self.st -= time_s
            self.sp -= pressure_pa
            self.stt -= time_s * time_s
            self.stp -= time_s * pressure_pa


def _readings(seed: int, rate_hz: float) -> list[Reading]:
    rng = np.random.default_rng([seed, int(rate_hz)])
    time_s = np.arange(READINGS) / rate_hz
    pressure = 6000.0 + 0.5 * time_s + rng.normal(0.0, 20.0, READINGS)
    return list(zip(time_s.tolist(), pressure.tolist(), strict=True))


def _ours_us(readings: list[Reading]) -> float:
    window = IsolationWindow(0.0)
    begun_s = process_time()
    for time_s, pressure_pa in readings:
        window.add(time_s, pressure_pa, None)
    return 1e6 * (process_time() - begun_s) / len(readings)


def _peer_us(readings: list[Reading]) -> float:
    line = _RunningLine()
    begun_s = process_time()
    for time_s, pressure_pa in readings:
        line.add(time_s, pressure_pa)
    return 1e6 * (process_time() - begun_s) / len(readings)


def run(seed: int, *, full: bool) -> Found:
    """Take both through the same readings in turns, at each rate."""
    told = [_readings(seed, rate_hz) for rate_hz in RATES_HZ]
    pairs = [
        Pair(ours=_ours_us(readings), peer=_peer_us(readings))
        for _ in range(FULL_TURNS if full else SAMPLE_TURNS)
        for readings in told
    ]
    rates = " and ".join(f"{rate_hz:g}" for rate_hz in RATES_HZ)
    return Found(
        name=NAME,
        ours="CPU time of a drop test to take a reading, us",
        peer=f"CPU time of running sums over {WINDOW} readings, pure Python, us",
        goal=GOAL,
        pairs=tuple(pairs),
        notes=(f"{READINGS} readings at {rates} Hz in turn",),
    )
