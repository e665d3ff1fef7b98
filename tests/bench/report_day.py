"""The record of a day, made in seconds: six noisy channels ten times a second, with a lone spike.

Made up, not simulated: a report costs the same whatever the numbers mean. The noise is that of a
gauge with 0.2 mbar and of thermocouple chips that count in quarters of a kelvin.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from firmware_host.clock import ManualClock
from firmware_host.config.load import parse_bench
from firmware_host.inputs.port_channels import channels_by_port
from firmware_host.model.events import CureEstimated, Event, GelPlaced, MarkTaken, Phase
from firmware_host.model.events import PhaseEntered as Entered
from firmware_host.model.samples import Mark
from firmware_host.outputs.job_folder import create_job_folder, job_sha256
from firmware_host.outputs.raw_words import pack_words
from firmware_host.outputs.record_rows import checked, encode_event, encode_other, row_check
from firmware_host.outputs.record_schema import create_record, describe, into
from simulations.files import job_toml
from tests.bench.feed import bench_of, healthy

WATCHED_S = 86400.0
PER_S = 10
PART = "drone fairing"
MIXED_S, CLOSED_S, GEL_S = 300.0, 1500.0, 4000.0
SPIKE_AT_S, SPIKE_PA = 50_000.0, 40_000.0
UNSEEN_S = (60_000.0, 61_800.0)
"""Nobody watched in between: a day has half an hour more."""
LAST_S = WATCHED_S + UNSEEN_S[1] - UNSEEN_S[0] - 1.0 / PER_S
_RAW = pack_words("30000,31000,01901900,01A01910,01801900,00010001")
_LATE_MS = 12
_FRAMES = "frame_0"


@dataclass(frozen=True, slots=True, kw_only=True)
class Day:
    """What the record holds, as a person would have it in memory."""

    minutes: NDArray[np.float64]
    """Since mixing."""
    pressures_mbar: NDArray[np.float64]
    temperatures_c: NDArray[np.float64]


def make_day(base: Path, seed: int) -> tuple[Path, Day]:
    """Make the job folder, and give the same readings."""
    folder = _empty_folder(base, seed)
    time_ms, steps = _readings(seed)
    with closing(sqlite3.connect(folder / "record.sqlite", isolation_level=None)) as target:
        target.execute("PRAGMA synchronous=OFF")
        target.execute("BEGIN")
        numbers = len(time_ms)
        marked = checked("input", encode_other(1, Mark(0.0, "mixed", MIXED_S)))
        target.execute(f"INSERT {into('input', len(marked))}", marked)
        rows = _frame_rows(time_ms, steps, int(str(marked[-1])))
        target.executemany(f"INSERT {into(_FRAMES, len(steps) + 6)}", rows)
        before = 0
        for number, event in enumerate(_events(), start=1):
            row = checked("event", encode_event(number, numbers, event), before)
            before = int(str(row[-1]))
            target.execute(f"INSERT {into('event', len(row))}", row)
        target.execute("COMMIT")
    return folder, Day(
        minutes=(time_ms / 1000.0 - MIXED_S) / 60.0,
        pressures_mbar=steps[:2] / 1000.0,
        temperatures_c=steps[2:] / 1000.0 - 273.15,
    )


def _empty_folder(base: Path, seed: int) -> Path:
    scenario = healthy(seed, 600.0)
    job = job_toml(scenario).encode()
    bench = bench_of(scenario, Path("board"), Path("bench"))
    (channels,) = channels_by_port(parse_bench(bench, "bench.toml"))
    clock = ManualClock()
    folder = create_job_folder(base, PART, clock.wall(), job)
    meta = describe(
        clock,
        version="0.1.0",
        part=PART,
        bench_text=bench,
        job_sha256=job_sha256(job),
        groups=(channels.group,),
    )
    create_record(folder, meta)
    return folder


def _readings(seed: int) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Times in ms, and tenths of a pascal or millikelvin of bag, pump, two parts, mould, shop."""
    rng = np.random.default_rng(seed)
    time_s = np.arange(int(WATCHED_S * PER_S)) / PER_S
    time_s[time_s >= UNSEEN_S[0]] += UNSEEN_S[1] - UNSEEN_S[0]
    pumped = np.exp(-np.maximum(time_s - CLOSED_S, 0.0) / 200.0)
    pressures = [
        level + 100_000.0 * pumped + rng.normal(0.0, 20.0, len(time_s)) for level in (1200.0, 900.0)
    ]
    pressures[0][np.searchsorted(time_s, SPIKE_AT_S)] += SPIKE_PA
    kick = np.exp(-(((time_s - GEL_S) / 1500.0) ** 2))
    temperatures = [
        295.0 + share * kick + rng.normal(0.0, 0.1, len(time_s)) for share in (18.0, 14.0, 6.0, 0.0)
    ]
    steps = [np.round(one * 10.0) for one in pressures]
    steps += [np.round(one * 4.0) * 250.0 for one in temperatures]
    return np.round(time_s * 1000.0).astype(np.int64), np.array(steps, dtype=np.int64)


def _frame_rows(
    time_ms: NDArray[np.int64], steps: NDArray[np.int64], before: int
) -> Iterator[tuple[object, ...]]:
    columns = [time_ms.tolist(), *steps.tolist()]
    for number, values in enumerate(zip(*columns, strict=True), start=2):
        cells = (number, *values, None, _RAW, _LATE_MS)
        before = row_check(_FRAMES, cells, before)
        yield (*cells, before)


def _events() -> Iterator[Event]:
    yield MarkTaken(time_s=MIXED_S, name="mixed", at_s=MIXED_S, taken=True, text="")
    for at_s, phase in (
        (MIXED_S, Phase.WORKING),
        (CLOSED_S, Phase.DRAWDOWN),
        (CLOSED_S + 500.0, Phase.WAITING),
        (GEL_S + 600.0, Phase.KICKED),
        (GEL_S + 3600.0, Phase.COOLING),
    ):
        yield Entered(time_s=at_s, phase=phase, since_s=at_s)
    yield GelPlaced(time_s=GEL_S, gel_s=GEL_S, low_s=GEL_S - 300.0, high_s=GEL_S + 300.0)
    for minute in range(int(MIXED_S / 60.0), int(WATCHED_S / 60.0)):
        share = min(minute / 1200.0, 0.8)
        yield CureEstimated(
            time_s=minute * 60.0, conversion=share, low=share * 0.9, high=share * 1.1
        )
