"""A hand-turned job for the core: a few channels of plain numbers, second by second."""

from __future__ import annotations

from firmware_host.config.load import parse_job
from firmware_host.core.monitor import Monitor
from firmware_host.model.channels import channel_named
from firmware_host.model.events import AlarmChanged, AlarmState, Event, PhaseEntered
from firmware_host.model.samples import Frame, Group, Input, Mark, Reason

NAMES = ("bag", "part1", "shop")
ROOM_PA, DEEP_PA = 101_300.0, 3_000.0
JOB = """
[job]
part = "kayak hatch cover"
initiator_percent = 1.5
[resin]
family = "polyester"
induction_min_at_25c = 36.0
induction_activation_kj_per_mol = 52.0
induction_initiator_exponent = 0.8
[bag]
pressure_limit_mbar = 150.0
[limits]
latest_gel_min = 60.0
highest_temperature_c = 60.0
"""


class Told:
    """A core with what it said so far."""

    def __init__(self, job: str = JOB, others: tuple[str, ...] = ()) -> None:
        self.others = dict.fromkeys(others, 293.15)
        """Readings of further couples, K; one that is taken out is not read."""
        self._names = (*NAMES, *others)
        group = Group("bench", tuple(channel_named(name) for name in self._names), 1.0)
        self.monitor = Monitor(parse_job(job, "job.toml"), (group,))
        self.events: list[Event] = []
        self.now_s = 0.0
        self.bag_pa: float | None = ROOM_PA
        self.part_k: float | None = 293.15
        self.shop_k: float | None = 293.15

    def step(self, given: Input) -> None:
        """Hand one input over."""
        self.events += self.monitor.step(given)

    def frame(self) -> None:
        """Hand over the readings of this second."""
        others = tuple(self.others.get(name) for name in self._names[len(NAMES) :])
        values = (self.bag_pa, self.part_k, self.shop_k, *others)
        reasons = tuple(Reason.NOT_READ if value is None else None for value in values)
        self.step(Frame(self.now_s, 0, values, reasons))

    def wait(self, seconds: float) -> None:
        """Let time pass, a frame each second."""
        for _ in range(int(seconds)):
            self.now_s += 1.0
            self.frame()

    def mark(self, name: str, ago_s: float = 0.0, note: str = "") -> None:
        """Press a key."""
        self.step(Mark(self.now_s - ago_s, name, self.now_s, note))

    def pull_down(self) -> None:
        """A wet bag under vacuum, waiting for the resin."""
        self.wait(120.0)
        self.mark("mixed")
        self.wait(60.0)
        self.mark("bag_closed")
        self.mark("pump_on")
        self.bag_pa = DEEP_PA
        self.wait(60.0)

    def raised(self, name: str) -> list[AlarmChanged]:
        """Alarms of a name, as raised."""
        return [e for e in self.changes(name) if e.state is AlarmState.ACTIVE]

    def changes(self, name: str) -> list[AlarmChanged]:
        """All that happened to the alarms of a name."""
        return [e for e in self.events if isinstance(e, AlarmChanged) and e.name == name]

    def phases(self) -> list[str]:
        """Phases in the order in which they were entered."""
        return [event.phase.value for event in self.events if isinstance(event, PhaseEntered)]
