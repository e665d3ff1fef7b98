"""Jobs that the tests of the report share: a drone fairing, watched for two hours or not at all."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace
from functools import cache
from pathlib import Path
from shutil import copytree
from tempfile import mkdtemp

from firmware_host.clock import ManualClock
from firmware_host.model.channels import channel_named
from firmware_host.model.events import (
    AlarmChanged,
    AlarmState,
    CureEstimated,
    Event,
    GapSeen,
    GelForecast,
    GelPlaced,
    LeakChecked,
    MarkTaken,
    Phase,
    PhaseEntered,
    SensorFaultChanged,
    Verdict,
)
from firmware_host.model.samples import Acknowledge, Frame, Group, Input, Mark, Reason
from firmware_host.outputs.job_folder import create_job_folder, job_sha256
from firmware_host.outputs.record import RecordWriter
from firmware_host.outputs.record_schema import create_record, describe

PART = "drone fairing"
JOB = """[job]
part = "drone fairing"
work_time_min = 20.0
initiator_percent = 1.5
[resin]
family = "polyester"
[bag]
free_volume_l = 3.0
drop_rule = "1 inHg in 5 min"
pressure_limit_mbar = 150.0
[limits]
highest_temperature_c = 60.0
[[people]]
who = "M. Faber"
"""
BOARD = Group("board", tuple(map(channel_named, ("bag", "part1", "shop"))), 1.0)
PATIENCE_S = 30.0
END_S = 7200.0
MIXED_S = 300.0
CLOSED_S = 6900.0


def frames(start_s: int = 0, end_s: int = int(END_S)) -> Iterator[Frame]:
    """A bag that is pumped down, and a laminate that kicks, once a second."""
    for time_s in range(start_s, end_s):
        pumped = 1.0 if time_s < 1500 or time_s > 6600 else math.exp(-(time_s - 1500) / 60.0)
        bag_pa = round((1500.0 + 99800.0 * pumped) * 10) / 10
        part_k = round((295.15 + 20.0 * math.exp(-(((time_s - 4200) / 900.0) ** 2))) * 1000) / 1000
        yield Frame(float(time_s), 0, (bag_pa, part_k, 294.25), (None, None, None))


def without(frame: Frame, index: int, reason: Reason = Reason.NOT_READ) -> Frame:
    """Take one reading out of a frame."""
    values, reasons = list(frame.values), list(frame.reasons)
    values[index], reasons[index] = None, reason
    return replace(frame, values=tuple(values), reasons=tuple(reasons))


def drop_test(
    number: int, start_s: float, verdict: Verdict, rise: float, high: float
) -> LeakChecked:
    """A drop test of five minutes with its last word."""
    return LeakChecked(
        time_s=start_s + 300.0,
        number=number,
        start_s=start_s,
        end_s=start_s + 300.0,
        decided_s=None if verdict is Verdict.UNDECIDED else start_s + 40.0,
        rise_pa_per_s=rise,
        rise_low_pa_per_s=rise / 2.0,
        rise_high_pa_per_s=high,
        whole_rise_pa_per_s=rise * 1.2,
        limit_pa_per_s=11.28796,
        verdict=verdict,
        final=True,
    )


TIGHT = drop_test(1, 1800.0, Verdict.TIGHT, 1.0, 2.0)


def alarm(
    name: str, state: AlarmState, time_s: float, raised_s: float, *, channel: str | None = None
) -> AlarmChanged:
    """One transition of an alarm."""
    returned = state in (AlarmState.RETURNED, AlarmState.CLEAR)
    return AlarmChanged(
        time_s=time_s,
        id=f"{name}-{channel}-1" if channel else f"{name}-1",
        name=name,
        channel=channel,
        state=state,
        priority="high",
        raised_s=raised_s,
        cleared_s=time_s if returned else None,
        text=f"{name} is said",
        action="look at it",
    )


def mark(time_s: float, name: str, note: str = "") -> tuple[Mark, list[Event]]:
    """A mark with what the core says to it."""
    taken = MarkTaken(time_s=time_s, name=name, at_s=time_s, taken=True, text=note)
    return Mark(time_s, name, time_s, note), [taken]


def phase(time_s: float, name: Phase) -> PhaseEntered:
    """The job moves on."""
    return PhaseEntered(time_s=time_s, phase=name, since_s=time_s)


def cure(start_s: float, end_s: float) -> list[Event]:
    """Forecasts until the gel at an hour, conversion all along."""
    said: list[Event] = []
    for time_s in range(int(start_s), int(end_s), 60):
        at = float(time_s)
        share = min(max(at - 3000.0, 0.0) / 2400.0, 0.8)
        said.append(CureEstimated(time_s=at, conversion=share, low=share * 0.9, high=share * 1.1))
        if at < 3900.0:
            said.append(GelForecast(time_s=at, gel_s=3780.0, low_s=2700.0, high_s=5400.0))
    said.append(GelPlaced(time_s=3900.0, gel_s=3600.0, low_s=3420.0, high_s=3840.0))
    return said


def whole_job(note: str = "") -> list[tuple[Input, Sequence[Event]]]:
    """A sound job from the pour to the form."""
    pour, poured = mark(MIXED_S, "mixed", note)
    closed, bagged = mark(1440.0, "bag_closed")
    released, let_go = mark(6600.0, "vacuum_released")
    off, demoulded = mark(CLOSED_S, "demoulded", note)
    return [
        (pour, [*poured, phase(MIXED_S, Phase.WORKING)]),
        (closed, [*bagged, phase(1440.0, Phase.DRAWDOWN), phase(1620.0, Phase.WAITING), TIGHT]),
        (Acknowledge(1500.0, "nothing-1", "panel"), cure(MIXED_S, 6600.0)),
        (Mark(3900.0, "gel_seen", 3900.0, note), [phase(3900.0, Phase.KICKED)]),
        (released, [*let_go, phase(6600.0, Phase.RELEASED)]),
        (off, [*demoulded, phase(CLOSED_S, Phase.CLOSED)]),
    ]


def two_alarms() -> list[tuple[Input, Sequence[Event]]]:
    """A leak that somebody answered, and a cable that nobody put back."""
    return [
        (Mark(2400.0, "note", 2400.0), [alarm("bag_leaking", AlarmState.ACTIVE, 2400.0, 2395.0)]),
        (
            Acknowledge(2460.0, "bag_leaking-1", "panel"),
            [alarm("bag_leaking", AlarmState.ACKNOWLEDGED, 2460.0, 2395.0)],
        ),
        (
            Mark(2700.0, "note", 2700.0),
            [
                alarm("bag_leaking", AlarmState.CLEAR, 2700.0, 2395.0),
                *(
                    said
                    for channel in ("bag", "part1", "shop")
                    for said in (
                        SensorFaultChanged(
                            time_s=5010.0,
                            channel=channel,
                            kind="silent",
                            start_s=5000.0,
                            end_s=None,
                        ),
                        alarm("sensor_fault", AlarmState.ACTIVE, 5010.0, 5000.0, channel=channel),
                    )
                ),
            ],
        ),
    ]


def gap(start_s: float, end_s: float) -> GapSeen:
    """A span in which the daemon was off."""
    return GapSeen(time_s=end_s, start_s=start_s, why="Bag Vigil was not running")


def make_folder(base: Path, *, part: str = PART, job: str = JOB) -> Path:
    """Make a job folder with an empty record."""
    clock = ManualClock()
    folder = create_job_folder(base, PART, clock.wall(), job.encode())
    meta = describe(
        clock,
        version="0.1.0",
        part=part,
        bench_text="",
        job_sha256=job_sha256(job.encode()),
        groups=(BOARD,),
    )
    create_record(folder, meta)
    return folder


def open_writer(folder: Path) -> RecordWriter:
    """Write to the folder on a clock that stands still."""
    return RecordWriter(folder, ManualClock(), version="0.1.0", zero_mono_s=0.0)


def fill(
    writer: RecordWriter, said: Sequence[tuple[Input, Sequence[Event]]], frames: Iterator[Frame]
) -> None:
    """Put frames and what was said to the record, and wait until it is there."""
    for given, events in said:
        writer.put(given, events)
    for frame in frames:
        writer.put(frame)
    assert writer.flush(PATIENCE_S)


def closed_job(base: Path, *, part: str = PART, note: str = "", job: str = JOB) -> Path:
    """Make the folder of a sound job that is over."""
    kept = _kept_job(base.parent, part, note, job)
    return copytree(kept, base / kept.name)


@cache
def _kept_job(beside: Path, part: str, note: str, job: str) -> Path:
    """Record such a job once, whoever asks for a copy of it."""
    folder = make_folder(Path(mkdtemp(prefix="closed-job-", dir=beside)), part=part, job=job)
    writer = open_writer(folder)
    fill(writer, whole_job(note), frames())
    writer.close(PATIENCE_S)
    return folder
