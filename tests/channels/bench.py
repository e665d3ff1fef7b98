"""A bench of closed forms: a job's true pressures and temperatures, couples with noise and steps.

Nothing here comes from the simulator: pressures are exponentials, the exotherm is a bell.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np

from firmware_host.config.load import parse_job
from firmware_host.core.monitor import Monitor
from firmware_host.model.channels import Quantity, channel_named
from firmware_host.model.events import AlarmChanged, AlarmState, Event, SensorFaultChanged
from firmware_host.model.samples import Frame, Group, Mark, Reason

NAMES = ("bag", "pump", "part1", "part2", "mould", "shop", "cup")
PERIOD_S = 2.0
JOB = """
[job]
part = "drone fairing"
initiator_percent = 1.5
[resin]
family = "polyester"
[bag]
pressure_limit_mbar = 150.0
drop_limit_pa_per_s = 3.3
[limits]
highest_temperature_c = 90.0
latest_gel_min = 150.0
"""
GEL_S, PEAK_S, WIDTH_S = 3600.0, 5400.0, 900.0
MARKS = {300.0: "mixed", 1500.0: "bag_closed", 1560.0: "pump_on", 3900.0: "gel_seen"}

Cell = tuple[float | None, Reason | None]
Twist = Callable[[float, float, "Shop"], Cell]
"""Time and true shown value in, cell out."""


def rise_k(time_s: float) -> float:
    """Exotherm over the shop: a bell of 30 K."""
    return 30.0 * math.exp(-(((time_s - PEAK_S) / WIDTH_S) ** 2))


def truth(name: str, time_s: float) -> float:
    """True value of a channel, Pa or K."""
    if name in ("bag", "pump"):
        pumped_s = max(time_s - 1550.0, 0.0)
        floor = 1500.0 if name == "pump" else 1700.0
        return floor + (101300.0 - floor) * math.exp(-pumped_s / 25.0)
    share = {"part1": 1.0, "part2": 0.85, "mould": 0.7, "shop": 0.0, "cup": 4.0}[name]
    return 294.0 + share * rise_k(time_s + (900.0 if name == "cup" else 0.0))


@dataclass
class Shop:
    """One run."""

    seed: int = 0
    twists: dict[str, Twist] = field(default_factory=dict)
    until_s: float = 6600.0

    def __post_init__(self) -> None:
        self.rng = np.random.default_rng(self.seed)
        self.offsets = dict(zip(NAMES, self.rng.normal(size=len(NAMES)) * 0.5, strict=True))

    def shown(self, name: str, time_s: float) -> float:
        """True value with offset, noise and the converter's step."""
        channel = channel_named(name)
        if channel.role.quantity is Quantity.PRESSURE:
            noisy_pa = truth(name, time_s) + 18.0 * self.rng.normal()
            return max(float(round(noisy_pa / 26.9)) * 26.9, 0.0)
        raw = truth(name, time_s) + self.offsets[name] + 0.12 * self.rng.normal()
        return float(round(raw / 0.25) * 0.25)

    def frames(self) -> list[Frame | Mark]:
        """Make the inputs of the core."""
        inputs: list[Frame | Mark] = []
        marks = dict(MARKS)
        for number in range(int(self.until_s / PERIOD_S)):
            time_s = number * PERIOD_S
            if time_s in marks:
                inputs.append(Mark(time_s, marks[time_s], time_s))
            cells: list[Cell] = []
            for name in NAMES:
                shown = self.shown(name, time_s)
                twist = self.twists.get(name)
                cells.append(twist(time_s, shown, self) if twist else (shown, None))
            inputs.append(Frame(time_s, 0, tuple(c[0] for c in cells), tuple(c[1] for c in cells)))
        return inputs

    def events(self) -> list[Event]:
        """Run the core over it."""
        group = Group("bench", tuple(channel_named(name) for name in NAMES), PERIOD_S)
        monitor = Monitor(parse_job(JOB, "job.toml"), (group,))
        return [event for given in self.frames() for event in monitor.step(given)]


def accused(events: list[Event]) -> dict[str, float]:
    """When each channel was first said to be at fault."""
    named: dict[str, float] = {}
    for event in events:
        if isinstance(event, SensorFaultChanged) and event.end_s is None:
            named.setdefault(event.channel, event.time_s)
    return named


def process_alarms(events: list[Event]) -> list[str]:
    """Alarms about the part that were raised; `cup_hot` is a notice about left-over resin."""
    return [
        event.name
        for event in events
        if isinstance(event, AlarmChanged)
        and event.state is AlarmState.ACTIVE
        and event.name not in ("sensor_fault", "cup_hot")
    ]


def after(start_s: float, lie: Twist) -> Twist:
    """Lie from a moment on."""

    def twist(time_s: float, shown: float, shop: Shop) -> Cell:
        return lie(time_s, shown, shop) if time_s >= start_s else (shown, None)

    return twist


def silent(time_s: float, shown: float, shop: Shop) -> Cell:
    """The cell is blank."""
    del time_s, shown, shop
    return None, Reason.NOT_READ


def open_lead(time_s: float, shown: float, shop: Shop) -> Cell:
    """The chip says so."""
    del time_s, shown, shop
    return None, Reason.OPEN


def detached(time_s: float, shown: float, shop: Shop) -> Cell:
    """The couple reads the shop."""
    del shown
    return shop.shown("shop", time_s), None


def reversed_lead(time_s: float, shown: float, shop: Shop) -> Cell:
    """Mirrored at the shop."""
    del time_s, shop
    return round((2.0 * 294.0 - shown) / 0.25) * 0.25, None


def spikes(time_s: float, shown: float, shop: Shop) -> Cell:
    """One reading in twenty is wild."""
    del time_s
    if shop.rng.random() > 0.05:
        return shown, None
    size = shop.rng.uniform(2000.0, 9000.0) if shown > 1000.0 else shop.rng.uniform(10.0, 60.0)
    return max(shown + size * float(shop.rng.choice([-1.0, 1.0])), 0.0), None


def stuck_at() -> Twist:
    """Repeat the first reading that it is given."""
    held: list[float] = []

    def twist(time_s: float, shown: float, shop: Shop) -> Cell:
        del time_s, shop
        held.append(shown)
        return held[0], None

    return twist


def drifting(rate_k_per_h: float, start_s: float) -> Twist:
    """Walk off."""

    def twist(time_s: float, shown: float, shop: Shop) -> Cell:
        del shop
        walked = shown + rate_k_per_h * (time_s - start_s) / 3600.0
        return round(walked / 0.25) * 0.25, None

    return twist


def noisy(time_s: float, shown: float, shop: Shop) -> Cell:
    """Ten times the noise."""
    del time_s
    scale = 180.0 if shown > 1000.0 else 1.2
    return max(shown + scale * shop.rng.normal(), 0.0), None
