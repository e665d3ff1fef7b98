"""The serial bytes of a simulated job, and the judge who takes them: decoder and core, no shell."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from pathlib import Path
from time import process_time

from firmware_host.config.load import parse_bench, parse_job
from firmware_host.config.schema import Bench
from firmware_host.core.monitor import Monitor
from firmware_host.inputs.port_channels import channels_by_port
from firmware_host.model.samples import Mark
from hardware.frames import FrameReader
from hardware.messages import SampleLine
from simulations.files import bench_toml, job_toml
from simulations.rig import Line, Marked, Rig
from simulations.scenario import Scenario, load

PERIOD_S = 0.1
SIX_CHANNELS = ("bag", "pump", "part1", "part2", "mould", "shop")
RELEASED_S = 9000.0
"""When the shipped healthy job takes its vacuum off."""


def healthy(seed: int, length_s: float, *, released: bool = True) -> Scenario:
    """Give the shipped healthy job, with another seed and length; or one whose vacuum stays on."""
    shipped = load("healthy")
    last_s = min(length_s, length_s if released else RELEASED_S - 1.0)
    return replace(
        shipped,
        head=replace(shipped.head, seed=seed, length_s=length_s),
        events=tuple(event for event in shipped.events if event.at_s <= last_s),
        marks=tuple(mark for mark in shipped.marks if mark.at_s <= last_s),
    )


def bench_of(scenario: Scenario, device: Path, folder: Path) -> str:
    """Text of a bench file for six of the simulated board's channels at ten a second."""
    text = bench_toml(scenario, device, folder / "jobs", folder / "s.sock", PERIOD_S)
    head, *channels = text.split("[[channel]]")
    *_, tail = channels[-1].partition("[socket]")
    kept = [one.partition("[socket]")[0] for one in channels if _name(one) in SIX_CHANNELS]
    return "[[channel]]".join([head, *kept]) + "[socket]" + tail


def _name(channel: str) -> str:
    return channel.partition('name = "')[2].partition('"')[0]


class Feed:
    """A rig's lines and marks, as far as they are asked for."""

    def __init__(self, scenario: Scenario) -> None:
        self.scenario = scenario
        self._rig = Rig(scenario, period_s=PERIOD_S)

    def until(self, to_s: float, period_s: float = PERIOD_S) -> list[bytes | Mark]:
        """Go on to this time with a sample every `period_s`."""
        board = self._rig.board
        board.period_s = period_s
        board.sample_due_s = min(board.sample_due_s, self._rig.time_s + period_s)
        given: list[bytes | Mark] = []
        for thing in self._rig.run_to(to_s):
            if isinstance(thing, Line):
                given.append(thing.data)
            elif isinstance(thing, Marked):
                at_s = round(thing.at_s, 3)
                given.append(Mark(at_s, thing.name, at_s))
        return given


@dataclass(frozen=True, slots=True)
class Taken:
    """What taking a stretch cost."""

    samples: int
    cpu_s: float


class Judge:
    """Bytes to verdicts: framing, conversion and the whole core."""

    def __init__(self, scenario: Scenario) -> None:
        bench: Bench = parse_bench(bench_of(scenario, Path("board"), Path("bench")), "bench.toml")
        (self.channels,) = channels_by_port(bench)
        self._reader = FrameReader()
        self.monitor = Monitor(parse_job(job_toml(scenario), "job.toml"), (self.channels.group,))

    def take(self, given: Iterable[bytes | Mark]) -> Taken:
        """Take a stretch, and say what it cost in CPU time."""
        step, frame, feed = self.monitor.step, self.channels.frame, self._reader.feed
        samples, begun_s = 0, process_time()
        for one in given:
            if isinstance(one, Mark):
                step(one)
                continue
            for message in feed(one):
                if isinstance(message, SampleLine):
                    step(frame(message.raws, 0, message.t_ms))
                    samples += 1
        return Taken(samples, process_time() - begun_s)
