"""A simulated job that can be broken at any moment: its truth once, then as many copies as needed.

The plant does not know what its sensors say, so one run of it serves every fault. What a bench has
come to know by a moment is copied there, and each copy goes on with a fault of its own.
"""

from __future__ import annotations

import copy
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path

from firmware_host.config.load import parse_bench, parse_job
from firmware_host.core.monitor import Monitor
from firmware_host.inputs.port_channels import channels_by_port
from firmware_host.model.events import AlarmChanged, AlarmState, Event, SensorFaultChanged
from firmware_host.model.samples import Mark
from hardware.frames import FrameReader
from hardware.messages import SampleLine
from simulations.board import Board
from simulations.faults import Fault
from simulations.files import bench_toml, job_toml
from simulations.rig import Marked, Rig
from simulations.scenario import Scenario, load
from simulations.sensors import CHIP_ABOVE_SHOP_K, Sensors

PERIOD_S = 1.0


@dataclass(frozen=True, slots=True)
class Moment:
    """What is true when the board reads, and what the person has said since the last time."""

    at_s: float
    truth: dict[str, float]
    chip_k: float
    marks: tuple[Mark, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Story:
    """A whole job as it truly was."""

    scenario: Scenario
    moments: tuple[Moment, ...]

    def first_at(self, at_s: float) -> int:
        """Number of the first moment at or after a time."""
        return next(
            (number for number, moment in enumerate(self.moments) if moment.at_s >= at_s),
            len(self.moments),
        )


def story(name: str, seed: int, period_s: float = PERIOD_S, length_s: float | None = None) -> Story:
    """Run a shipped scenario's plant with another seed, to its end or for so long."""
    shipped = load(name)
    scenario = replace(shipped, head=replace(shipped.head, seed=seed))
    rig = Rig(scenario)
    moments = []
    for number in range(1, int((length_s or scenario.head.length_s) / period_s) + 1):
        at_s = number * period_s
        passed = list(rig.pass_time(at_s))
        said = [round(thing.at_s, 3) for thing in passed if isinstance(thing, Marked)]
        names = [thing.name for thing in passed if isinstance(thing, Marked)]
        marks = tuple(Mark(when, name, when) for when, name in zip(said, names, strict=True))
        chip_k = rig.plant.shop.temperature_k(at_s) + CHIP_ABOVE_SHOP_K
        moments.append(Moment(at_s, rig.plant.truth(), chip_k, marks))
    return Story(scenario=scenario, moments=tuple(moments))


@dataclass(slots=True)
class Heard:
    """What was said of channels and of the job, with the time."""

    faults: list[SensorFaultChanged] = field(default_factory=list)
    alarms: list[AlarmChanged] = field(default_factory=list)
    doubted_s: dict[str, float] = field(default_factory=dict)
    """When a channel's noise was first held against it."""

    def take(self, said: Sequence[Event]) -> None:
        """Keep what begins."""
        for event in said:
            if isinstance(event, SensorFaultChanged) and event.end_s is None:
                self.faults.append(event)
            elif isinstance(event, AlarmChanged) and event.state is AlarmState.ACTIVE:
                self.alarms.append(event)


class JobBench:
    """Sensors, board, wire and core of one job."""

    def __init__(self, told: Story, period_s: float = PERIOD_S) -> None:
        scenario = told.scenario
        self._sensors = Sensors(scenario.sensors, (), scenario.head.seed)
        self._board = Board(seed=scenario.head.seed, period_s=period_s)
        text = bench_toml(scenario, Path("board"), Path("jobs"), Path("s.sock"), period_s)
        (self._channels,) = channels_by_port(parse_bench(text, "bench.toml"))
        self._reader = FrameReader()
        self.monitor = Monitor(parse_job(job_toml(scenario), "job.toml"), (self._channels.group,))
        self.heard = Heard()

    def broken(self, faults: Sequence[Fault]) -> JobBench:
        """Give a copy that has these faults and has heard nothing yet."""
        other = copy.deepcopy(self)
        other.heard = Heard()
        other._sensors.go_wrong(faults)
        return other

    def live(self, moment: Moment) -> None:
        """Take one sample, from the places to the verdicts."""
        for mark in moment.marks:
            self.heard.take(self.monitor.step(mark))
        read = self._sensors.read(moment.at_s, moment.truth)
        line = self._board.sample(moment.at_s, read, moment.chip_k)
        for message in self._reader.feed(line):
            if isinstance(message, SampleLine):
                frame = self._channels.frame(message.raws, 0, message.t_ms)
                self.heard.take(self.monitor.step(frame))
        for watch in self.monitor.channels:
            if watch.doubtful:
                self.heard.doubted_s.setdefault(watch.channel.name, moment.at_s)
