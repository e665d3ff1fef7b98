"""A log cut off anywhere says, up to the cut, what the whole log says.

The core is told one input after the other: where the inputs of a cut log are those of the whole
one, up to the cut, so are its words. All cuts are held to that; some go through the core as well.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np
import pytest

from firmware_host.config.load import parse_job
from firmware_host.core.monitor import Monitor
from firmware_host.inputs.csv_log import open_log
from firmware_host.model.events import AlarmChanged, Event, GapSeen, LeakChecked
from firmware_host.model.samples import Group, Input, Tick
from tests.core.story import JOB

PERIOD_S = 2.0
MARKS = {
    60: "mixed",
    150: "bag_closed;pump_on",
    210: "valve_shut",
    370: "valve_open",
    560: "gel_seen",
    640: "vacuum_released",
}
"""Marks by row."""
CUTS, HEARD_CUTS = 12, 3


def rows() -> list[str]:
    """An ugly little job: a leak, a test, a hose off, a dead couple, a gap without rows."""
    rng = np.random.default_rng(21)
    lines = ["time_s,bag:Pa,part1:degC,shop:degC,mark"]
    for row in range(700):
        at_s = row * PERIOD_S + (400.0 if row > 480 else 0.0) + rng.uniform(0.0, 0.1)
        bag_pa = 101_300.0 if row < 150 else 4_000.0 + 97_000.0 * np.exp(-(row - 150) / 8.0)
        bag_pa += 24.0 * (row - 210) if 210 <= row < 365 else 0.0
        bag_pa = 90_000.0 if 420 <= row < 440 or row > 640 else bag_pa
        part = "" if 300 <= row < 330 else f"{21.0 + rng.normal(0.0, 0.1):.2f}"
        mark = MARKS.get(row, "")
        lines.append(f"{at_s:.3f},{bag_pa + rng.normal(0.0, 20.0):.0f},{part},21.0,{mark}")
    return lines


def told(lines: Sequence[str]) -> tuple[Group, list[Input]]:
    """What the core is told of a log."""
    with TemporaryDirectory() as folder:
        path = Path(folder) / "log.csv"
        path.write_text("\n".join(lines) + "\n")
        log = open_log(path)
        return log.group, list(log.inputs())


def heard(lines: Sequence[str]) -> list[Event]:
    """What the core says while a log is read, without the last words."""
    group, inputs = told(lines)
    monitor = Monitor(parse_job(JOB, "job.toml"), (group,))
    return [event for given in inputs for event in monitor.step(given)]


@cache
def whole() -> tuple[Event, ...]:
    """What is said of the whole log."""
    return tuple(heard(rows()))


def cuts() -> list[int]:
    """Rows after which the log is cut off, in no order."""
    chosen = np.random.default_rng(22).choice(np.arange(40, 699), CUTS, replace=False)
    return [int(cut) for cut in chosen]


def test_the_little_job_has_something_to_say() -> None:
    names = {event.name for event in whole() if isinstance(event, AlarmChanged)}
    assert names >= {"vacuum_lost", "sensor_fault"}
    assert any(isinstance(event, LeakChecked) and event.final for event in whole())
    assert any(isinstance(event, GapSeen) for event in whole())


def test_cutting_a_log_changes_nothing_that_was_told_before_the_cut() -> None:
    lines = rows()
    _, everything = told(lines)
    for cut in cuts():
        _, inputs = told(lines[: cut + 1])
        assert inputs == everything[: len(inputs)]
        assert len(inputs) >= cut


def test_cutting_a_log_changes_nothing_said_before_the_cut() -> None:
    lines = rows()
    for cut in cuts()[:HEARD_CUTS]:
        last_s = float(lines[cut].split(",")[0])
        past = [event for event in whole() if event.time_s <= last_s]
        assert heard(lines[: cut + 1]) == past


@pytest.mark.parametrize("seed", [1, 2])
def test_ticks_at_any_moment_between_the_rows_change_nothing(seed: int) -> None:
    rng = np.random.default_rng(seed)
    group, inputs = told(rows())
    monitor = Monitor(parse_job(JOB, "job.toml"), (group,))
    said: list[Event] = []
    for given, after in zip(inputs, [*inputs[1:], inputs[-1]], strict=True):
        said += monitor.step(given)
        until_s = min(after.time_s, given.time_s + PERIOD_S)
        for at_s in np.sort(rng.uniform(given.time_s, until_s, 2)):
            said += monitor.step(Tick(round(float(at_s), 3)))
    assert tuple(said) == whole()
