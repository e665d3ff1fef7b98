"""From what is true at a place to what a channel says.

In this order: which place it really looks at, lag, delay, zero and slow wander, noise, the
sensor's own steps, then whether anything arrives at all. Randomness comes from the seed, one
stream for each channel, so that a fault on one changes no other.
"""

from __future__ import annotations

import math
import random
from collections import deque
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import Annotated

from msgspec import Meta

from firmware_host.model.channels import Quantity, channel_named
from hardware.units import ZERO_CELSIUS_K
from simulations.faults import Fault, FaultKind, with_partners

PLACES = {
    "bag": "bag",
    "pump": "pump",
    "part1": "laminate",
    "part2": "laminate",
    "mould": "mould",
    "shop": "shop",
    "cup": "cup",
}
"""Every channel of the bench, in the board's order, with the place it looks at."""
BEAD_SHARES = {"part1": 0.95, "part2": 0.88}
"""A bead under the film reads this share of the laminate's rise above the shop."""
CHIP_ABOVE_SHOP_K = 3.0
"""The board warms its own converter chips."""
WANDER_TAU_S = 900.0
RAILS_PA = (-12500.0, 112500.0)
"""What a gauge's scale makes of 0 V and of the full supply: a tenth of it is 0 Pa, eight tenths
are 100 kPa."""
COUPLE_RANGE_K = (73.15, 1623.15)
"""What a couple's chip can say."""

NotNegative = Annotated[float, Meta(ge=0.0, le=1.0e5)]


@dataclass(frozen=True, slots=True, kw_only=True)
class SensorSettings:
    """[sensors]: how good the sensors are while nothing is wrong with them."""

    gauge_zero_pa: NotNegative = 120.0
    """One standard deviation of a gauge's zero, drawn from the seed."""
    gauge_noise_pa: NotNegative = 26.0
    gauge_wander_pa: NotNegative = 15.0
    gauge_step_pa: NotNegative = 26.86
    """110 kPa in 12 bit."""
    gauge_lag_s: NotNegative = 0.4
    couple_zero_k: NotNegative = 0.5
    couple_noise_k: NotNegative = 0.1
    couple_wander_k: NotNegative = 0.05
    couple_step_k: NotNegative = 0.25
    couple_lag_s: NotNegative = 10.0
    missed_share: Annotated[float, Meta(ge=0.0, le=1.0)] = 0.001
    """Readings that just are not there."""


class Lead(StrEnum):
    """State of the wires behind a reading."""

    FINE = "fine"
    NOT_READ = "not read"
    OPEN = "open"
    SHORTED = "shorted"


@dataclass(frozen=True, slots=True)
class Reading:
    """What a channel says: Pa or K, or None with the reason in `lead`."""

    value: float | None
    lead: Lead = Lead.FINE


@dataclass(frozen=True, slots=True)
class _Grade:
    """The settings of one quantity."""

    noise: float
    wander: float
    step: float
    lag_s: float
    step_from: float
    least: float
    most: float


class Sensor:
    """One channel."""

    def __init__(
        self, name: str, settings: SensorSettings, faults: Sequence[Fault], seed: int
    ) -> None:
        self.name = name
        self.quantity = channel_named(name).role.quantity
        self._grade = _grade(self.quantity, settings)
        self.go_wrong(faults)
        self._missed_share = settings.missed_share
        self._rng = random.Random(f"{seed}:{name}")
        pressure = self.quantity is Quantity.PRESSURE
        self._zero = self._rng.gauss(
            0.0, settings.gauge_zero_pa if pressure else settings.couple_zero_k
        )
        self._wander = self._rng.gauss(0.0, self._grade.wander)
        self._lagged: float | None = None
        self._read_s = 0.0
        self._past: deque[tuple[float, float]] = deque()
        self._said: float | None = None

    def go_wrong(self, faults: Sequence[Fault]) -> None:
        """Take over those of the faults that are this channel's."""
        self._faults = tuple(fault for fault in faults if fault.channel == self.name)

    def read(self, time_s: float, truth: Mapping[str, float]) -> Reading:
        """Say what the channel says at this time."""
        faults = {fault.kind: fault for fault in self._faults if fault.holds(time_s)}
        value = self._lag(self._look(truth, faults), time_s, faults)
        value = self._delay(value, time_s, faults)
        value += self._error(time_s, faults)
        self._read_s = time_s
        value = self._stepped(value)
        if FaultKind.STUCK not in faults or self._said is None:
            self._said = value
        return self._arrives(faults)

    def _look(self, truth: Mapping[str, float], faults: Mapping[FaultKind, Fault]) -> float:
        """Find the value at the place that the channel really looks at."""
        around = truth["barometer" if self.quantity is Quantity.PRESSURE else "shop"]
        swap = faults.get(FaultKind.SWAPPED)
        name = self.name if swap is None or swap.other is None else swap.other
        value = truth[PLACES[name]]
        if name in BEAD_SHARES:
            value = truth["shop"] + BEAD_SHARES[name] * (value - truth["shop"])
        if FaultKind.DETACHED in faults:
            value = around
        if FaultKind.BRIDGED in faults:
            value = truth["shop"] + CHIP_ABOVE_SHOP_K
        if FaultKind.REVERSED in faults:
            mirror = around if self.quantity is Quantity.PRESSURE else around + CHIP_ABOVE_SHOP_K
            value = 2.0 * mirror - value
        return value

    def _lag(self, value: float, time_s: float, faults: Mapping[FaultKind, Fault]) -> float:
        lag_s = self._grade.lag_s
        if FaultKind.SLOW in faults:
            lag_s += faults[FaultKind.SLOW].amount_for(self.quantity)
        if self._lagged is None or lag_s <= 0.0:
            self._lagged = value
        else:
            follows = -math.expm1(-(time_s - self._read_s) / lag_s)
            self._lagged += follows * (value - self._lagged)
        return self._lagged

    def _delay(self, value: float, time_s: float, faults: Mapping[FaultKind, Fault]) -> float:
        longest_s = max(
            (f.amount_for(self.quantity) for f in self._faults if f.kind is FaultKind.DELAYED),
            default=0.0,
        )
        if longest_s <= 0.0:
            return value
        self._past.append((time_s, value))
        while len(self._past) > 1 and self._past[1][0] <= time_s - longest_s:
            self._past.popleft()
        if FaultKind.DELAYED not in faults:
            return value
        wanted_s = time_s - faults[FaultKind.DELAYED].amount_for(self.quantity)
        older = [past for at_s, past in self._past if at_s <= wanted_s]
        return older[-1] if older else self._past[0][1]

    def _error(self, time_s: float, faults: Mapping[FaultKind, Fault]) -> float:
        """Zero, wander and noise, with what the faults add to them."""
        keep = math.exp(-(time_s - self._read_s) / WANDER_TAU_S)
        self._wander = keep * self._wander + self._rng.gauss(
            0.0, self._grade.wander * math.sqrt(1.0 - keep * keep)
        )
        noise = self._grade.noise
        error = self._zero + self._wander
        if FaultKind.NOISY in faults:
            noise = math.hypot(noise, faults[FaultKind.NOISY].amount_for(self.quantity))
        if FaultKind.WRONG in faults:
            error += faults[FaultKind.WRONG].amount_for(self.quantity)
        if FaultKind.DRIFTING in faults:
            drift = faults[FaultKind.DRIFTING]
            error += drift.amount_for(self.quantity) * (time_s - drift.start_s) / 3600.0
        return error + self._rng.gauss(0.0, noise)

    def _stepped(self, value: float) -> float:
        own = self._grade
        if own.step > 0.0:
            value = round((value - own.step_from) / own.step) * own.step + own.step_from
        return min(max(value, own.least), own.most)

    def _arrives(self, faults: Mapping[FaultKind, Fault]) -> Reading:
        lost_share = self._missed_share
        if FaultKind.INTERMITTENT in faults:
            lost_share = faults[FaultKind.INTERMITTENT].amount_for(self.quantity)
        if FaultKind.OFF in faults or self._rng.random() < lost_share:
            return Reading(None, Lead.NOT_READ)
        if FaultKind.GARBAGE in faults:
            return Reading(self._stepped(self._rng.uniform(self._grade.least, self._grade.most)))
        pressure = self.quantity is Quantity.PRESSURE
        if FaultKind.OPEN in faults:
            return Reading(RAILS_PA[0]) if pressure else Reading(None, Lead.OPEN)
        if FaultKind.SHORTED in faults:
            return Reading(RAILS_PA[1]) if pressure else Reading(None, Lead.SHORTED)
        return Reading(self._said)


class Sensors:
    """All channels of the bench."""

    def __init__(self, settings: SensorSettings, faults: Sequence[Fault], seed: int) -> None:
        both = with_partners(tuple(faults))
        self._sensors = [Sensor(name, settings, both, seed) for name in PLACES]

    def go_wrong(self, faults: Sequence[Fault]) -> None:
        """Let these faults take the place of those that were planned; what was said stays said."""
        both = with_partners(tuple(faults))
        for sensor in self._sensors:
            sensor.go_wrong(both)

    def read(self, time_s: float, truth: Mapping[str, float]) -> dict[str, Reading]:
        """Say what every channel says, in the board's order."""
        return {sensor.name: sensor.read(time_s, truth) for sensor in self._sensors}


def _grade(quantity: Quantity, settings: SensorSettings) -> _Grade:
    own = settings
    if quantity is Quantity.PRESSURE:
        return _Grade(
            own.gauge_noise_pa, own.gauge_wander_pa, own.gauge_step_pa, own.gauge_lag_s,
            0.0, *RAILS_PA,
        )  # fmt: skip
    return _Grade(
        own.couple_noise_k, own.couple_wander_k, own.couple_step_k, own.couple_lag_s,
        ZERO_CELSIUS_K, *COUPLE_RANGE_K,
    )  # fmt: skip
