"""Whole holds of a bag behind its pump, written down apart from the simulator and the estimators.

Two volumes, a hose and a pump; pressures in Pa, every rate in 1/s of the bag's volume V:

    db/dt       = L g(b) + A/tau_a e^(-t/tau_a) + b dT/dt/T - (b - q) / tau_h
    dq/dt (f-1) = (b - q) / tau_h - (q - p_u) / tau_p + back

L is the leak as the rise of the shut, deep bag; g the flow of a hole relative to choked flow [1];
(f-1) V the pump side. Taken by the backward Euler scheme at 0.25 s.
[1] isentropic nozzle, ISO 9300 theory; ratio 0.528282 for air.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np

from firmware_host.config.load import parse_job
from firmware_host.core.monitor import Monitor
from firmware_host.model.channels import channel_named
from firmware_host.model.events import AlarmChanged, AlarmState, Event
from firmware_host.model.samples import Frame, Group, Mark, Reason

ROOM_PA = 101_325.0
STEP_S = 0.25
PERIOD_S = 2.0
GAMMA = 1.4
CRITICAL = (2.0 / (GAMMA + 1.0)) ** (GAMMA / (GAMMA - 1.0))
PUMP_ON_S, SHUT_S, OPEN_S = 600.0, 1500.0, 1800.0
Profile = Callable[[float], float]


def always(value: float) -> Profile:
    """Make a profile that does not change."""
    return lambda _: value


def step(at_s: float, before: float, after: float) -> Profile:
    """Make a profile that jumps."""
    return lambda t: after if t >= at_s else before


def creep(at_s: float, before: float, after: float, over_s: float) -> Profile:
    """Make a profile that goes from one value to another along a line."""
    return lambda t: before + (after - before) * min(max((t - at_s) / over_s, 0.0), 1.0)


def hole_share(inside_pa: float) -> float:
    """Flow of a hole relative to its choked flow.

    >>> hole_share(50_000.0)
    1.0
    >>> round(hole_share(80_000.0), 4)
    0.8339
    """
    ratio = inside_pa / ROOM_PA
    if ratio <= CRITICAL:
        return 1.0
    if ratio >= 1.0:
        return 0.0
    flow = math.sqrt(ratio ** (2.0 / GAMMA) - ratio ** ((GAMMA + 1.0) / GAMMA))
    best = math.sqrt(CRITICAL ** (2.0 / GAMMA) - CRITICAL ** ((GAMMA + 1.0) / GAMMA))
    return flow / best


@dataclass(frozen=True, slots=True, kw_only=True)
class Hold:
    """One hold: what the bag, the pump and the gauges really are."""

    seed: int
    hours: float = 3.0
    limit_pa_per_s: float = 3.3
    leak: Profile = always(0.3)
    settling_pa: float = 300.0
    settling_s: float = 120.0
    wet_pa_per_s: float = 0.0
    """Gas of wet cloth for an hour, at its start."""
    hose_s: float = 4.0
    pump_s: float = 6.0
    side_share: float = 0.35
    ultimate_pa: Profile = always(1900.0)
    pinch: Profile = always(1.0)
    """Share of the hose's conductance."""
    pulls: Profile = always(1.0)
    """Share of the pump's speed; 0 while it stands."""
    back_pa_per_s: Profile = always(0.0)
    """Air through the standing pump, as the rise it makes in a volume V."""
    band_pa: tuple[float, float] | None = None
    pressure_limit_pa: float = 15_000.0
    shared: tuple[tuple[float, float], ...] = ()
    """Times at which a second bag is opened on the line, and what its air adds, Pa."""
    shut: tuple[tuple[float, float], ...] = ((SHUT_S, OPEN_S),)
    marked: bool = True
    warming_k: Profile | None = None
    sigma_pa: float = 28.0
    code_pa: float = 26.9
    wander_pa: float = 20.0
    wander_s: float = 300.0
    drift_pa_per_s: Profile = always(0.0)
    has_pump_gauge: bool = True
    expected: tuple[str, ...] = ()
    onset_s: float = 0.0
    """When the condition of the expected alarms begins."""


@dataclass(slots=True)
class Outcome:
    """What was said of a hold."""

    hold: Hold
    alarms: list[AlarmChanged] = field(default_factory=list)
    events: list[Event] = field(default_factory=list)

    def raised(self, name: str) -> list[float]:
        """Times at which an alarm was raised."""
        return [a.time_s for a in self.alarms if a.name == name and a.state is AlarmState.ACTIVE]


class _Plant:
    def __init__(self, hold: Hold) -> None:
        self.hold = hold
        self.bag_pa = self.side_pa = ROOM_PA
        self._runs = True

    def step(self, t: float) -> None:
        h = self.hold
        shut = any(a <= t < b for a, b in h.shut)
        hose = 0.0 if shut else h.pinch(t) / h.hose_s
        speed = self._speed(t)
        side, dt = h.side_share, STEP_S
        vented = t < PUMP_ON_S - 20.0
        hole = h.leak(t) * hole_share(self.bag_pa)
        wet = h.wet_pa_per_s * math.exp(-(t - PUMP_ON_S) / 3600.0)
        gas = hole + wet + self._settling(t) + self._warming(t)
        back = 0.0 if speed else h.back_pa_per_s(t) * hole_share(self.side_pa)
        if vented:
            gas += (ROOM_PA - self.bag_pa) / 5.0
        # Backward Euler: (1 + dt hose) b - dt hose q = b0 + dt gas, and likewise for q.
        a, b = 1.0 + dt * hose, -dt * hose
        c, d = -dt * hose / side, 1.0 + dt * (hose + speed) / side
        right_b = self.bag_pa + dt * gas
        right_q = self.side_pa + dt * (speed * h.ultimate_pa(t) + back) / side
        det = a * d - b * c
        self.bag_pa = (right_b * d - b * right_q) / det
        self.side_pa = (a * right_q - c * right_b) / det

    def _speed(self, t: float) -> float:
        h = self.hold
        if t < PUMP_ON_S:
            return 0.0
        if h.band_pa is not None and t > OPEN_S + 60.0:
            low, high = h.band_pa
            if self._runs and self.side_pa <= low:
                self._runs = False
            elif not self._runs and self.side_pa >= high:
                self._runs = True
            if not self._runs:
                return 0.0
        return h.pulls(t) / h.pump_s

    def _settling(self, t: float) -> float:
        """Gas that the bag gives off anew whenever it is shut."""
        h = self.hold
        since = [t - a for a, b in h.shut if a <= t < b]
        if not since:
            return 0.0
        return h.settling_pa / h.settling_s * math.exp(-since[0] / h.settling_s)

    def _warming(self, t: float) -> float:
        warm = self.hold.warming_k
        if warm is None:
            return 0.0
        return 0.3 * self.bag_pa * (warm(t + 1.0) - warm(t)) / warm(t)


def _job(hold: Hold) -> str:
    band = ""
    if hold.band_pa is not None:
        low, high = (p / 100.0 for p in hold.band_pa)
        band = f"pump_cycle_mbar = [{low}, {high}]\n"
    return (
        '[job]\npart = "kayak hatch cover"\ninitiator_percent = 1.5\n'
        '[resin]\nfamily = "polyester"\n'
        f"[bag]\nfree_volume_l = 3.0\ndrop_limit_pa_per_s = {hold.limit_pa_per_s}\n"
        f"pressure_limit_mbar = {hold.pressure_limit_pa / 100.0}\n{band}"
        "[limits]\nlatest_gel_min = 900.0\nhighest_temperature_c = 120.0\n"
    )


def _marks(hold: Hold) -> list[tuple[float, str]]:
    late = np.random.default_rng([hold.seed, 9]).uniform(0.0, 25.0, 12)
    marks = [(120.0, "mixed"), (550.0, "bag_closed"), (PUMP_ON_S + late[0], "pump_on")]
    if hold.marked:
        for i, (begin, end) in enumerate(hold.shut):
            marks += [
                (begin + late[2 * i + 1], "valve_shut"),
                (end + late[2 * i + 2], "valve_open"),
            ]
    return sorted(marks)


class Gauge:
    """A gauge: white noise, a wander, codes."""

    def __init__(self, hold: Hold, number: int) -> None:
        count = int(hold.hours * 3600.0 / PERIOD_S) + 2
        rng = np.random.default_rng([hold.seed, number])
        self._noise = rng.normal(0.0, hold.sigma_pa, count)
        keep = math.exp(-PERIOD_S / hold.wander_s)
        kicks = rng.normal(0.0, hold.wander_pa * math.sqrt(1.0 - keep * keep), count)
        now = rng.normal(0.0, hold.wander_pa)
        for i, kick in enumerate(kicks):
            now = keep * now + kick
            self._noise[i] += now
        self._noise += rng.uniform(-300.0, 300.0)
        self._code = hold.code_pa

    def read(self, row: int, true_pa: float) -> float:
        """Give what is read."""
        read = true_pa + float(self._noise[row])
        return max(round(round(read / self._code) * self._code, 1), 0.0)


def run(hold: Hold) -> Outcome:
    """Take a hold through the whole core."""
    names = [
        "bag",
        *(["pump"] if hold.has_pump_gauge else []),
        *(["part1"] if hold.warming_k else []),
    ]
    group = Group("bench", tuple(channel_named(name) for name in names), PERIOD_S)
    monitor = Monitor(parse_job(_job(hold), "job.toml"), (group,))
    plant, outcome, marks = _Plant(hold), Outcome(hold), _marks(hold)
    bag, side = Gauge(hold, 1), Gauge(hold, 2)
    drift = 0.0
    for row in range(int(hold.hours * 3600.0 / PERIOD_S)):
        t = row * PERIOD_S
        plant.bag_pa += sum(pa for at_s, pa in hold.shared if t <= at_s < t + PERIOD_S)
        for part in range(round(PERIOD_S / STEP_S)):
            plant.step(t + part * STEP_S)
        drift += hold.drift_pa_per_s(t) * PERIOD_S
        values = [bag.read(row, plant.bag_pa + drift)]
        if hold.has_pump_gauge:
            values.append(side.read(row, plant.side_pa))
        if hold.warming_k:
            values.append(round(hold.warming_k(t), 3))
        while marks and marks[0][0] <= t:
            at_s, name = marks.pop(0)
            outcome.events += monitor.step(Mark(round(at_s, 3), name, round(at_s, 3)))
        none: tuple[Reason | None, ...] = (None,) * len(values)
        outcome.events += monitor.step(Frame(t, 0, tuple(values), none))
    outcome.events += monitor.finish()
    outcome.alarms = [e for e in outcome.events if isinstance(e, AlarmChanged)]
    return outcome
