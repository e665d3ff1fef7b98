"""Run a scenario as fast as it goes and write the log a plain logger would have kept.

Rows come about every two seconds, a little off the beat; a channel that said nothing leaves its
cell blank; a mark stands in the first row at or after it.
"""

from __future__ import annotations

import csv
import random
from dataclasses import dataclass
from pathlib import Path
from typing import TextIO

import msgspec

from firmware_host.model.channels import Quantity, channel_named
from hardware.units import ZERO_CELSIUS_K
from simulations.rig import Marked, Rig
from simulations.scenario import Scenario
from simulations.sensors import PLACES, Reading
from simulations.truth import Truth

ROW_PERIOD_S = 2.0
JITTER_S = 0.05
"""One standard deviation."""
MOST_JITTER = 0.4
"""Of a period; rows never trade places."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Log:
    """A run as rows, with what really happened."""

    header: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    truth: Truth


def record(scenario: Scenario, *, row_period_s: float = ROW_PERIOD_S) -> Log:
    """Run a scenario to its end and keep the log."""
    rig = Rig(scenario)
    rng = random.Random(f"{scenario.head.seed}:rows")
    rows: list[tuple[str, ...]] = []
    while (beat_s := len(rows) * row_period_s) <= scenario.head.length_s:
        rows.append(_row(rig, _jittered(beat_s, row_period_s, rng)))
    units = ("Pa" if _is_pressure(name) else "degC" for name in PLACES)
    header = tuple(f"{name}:{unit}" for name, unit in zip(PLACES, units, strict=True))
    return Log(header=("time_s", *header, "mark"), rows=tuple(rows), truth=rig.truth.truth())


def write_csv(log: Log, out: TextIO) -> None:
    """Write the log, RFC 4180."""
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(log.header)
    writer.writerows(log.rows)


def write_truth(truth: Truth, path: Path) -> None:
    """Write what really happened, as JSON."""
    path.write_bytes(msgspec.json.format(msgspec.json.encode(truth), indent=1) + b"\n")


def _jittered(beat_s: float, period_s: float, rng: random.Random) -> float:
    if beat_s == 0.0:
        return 0.0
    most_s = MOST_JITTER * period_s
    return round(beat_s + min(max(rng.gauss(0.0, JITTER_S), -most_s), most_s), 3)


def _row(rig: Rig, at_s: float) -> tuple[str, ...]:
    marks = [thing.name for thing in rig.pass_time(at_s) if isinstance(thing, Marked)]
    readings = rig.read()
    cells = [_cell(name, reading) if rig.plugged else "" for name, reading in readings.items()]
    return (f"{at_s:.3f}", *cells, ";".join(marks))


def _cell(name: str, reading: Reading) -> str:
    if reading.value is None:
        return ""
    if _is_pressure(name):
        return f"{reading.value:.0f}"
    return f"{reading.value - ZERO_CELSIUS_K:.2f}"


def _is_pressure(name: str) -> bool:
    return channel_named(name).role.quantity is Quantity.PRESSURE
