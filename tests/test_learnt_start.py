"""A watch starts from what its shop has learnt, after a cut and in a replay too."""

from __future__ import annotations

from pathlib import Path

import pytest

from firmware_host.clock import ManualClock
from firmware_host.core.monitor import Monitor
from firmware_host.history.prior import with_prior
from firmware_host.model.channels import channel_named
from firmware_host.model.events import GelForecast
from firmware_host.model.samples import Frame, Group, Input, Mark
from firmware_host.outputs.past_jobs import past_jobs
from firmware_host.outputs.record import RecordWriter
from firmware_host.outputs.record_reader import open_record
from firmware_host.place import find_place, read_watch
from firmware_host.replay import compare, replay_record
from tests.outputs.past_parts import JOB, pour_folder

GROUPS = (Group("board", (channel_named("part1"), channel_named("shop")), 5.0),)
SLOW_S = 5400.0
"""An old can: three shells gelled after 90 min where the preset says 35."""


def taught_shop(base: Path) -> None:
    for _ in range(3):
        pour_folder(base / "jobs", gel_s=SLOW_S)
    past_jobs(base / "jobs")
    (base / "bench.toml").write_text("[bench]\n", encoding="utf-8")
    (base / "job.toml").write_text(JOB, encoding="utf-8")


def pour() -> list[Input]:
    mixed = Mark(10.0, "mixed", 10.0)
    frames = [Frame(5.0 * n, 0, (291.15, 291.15), (None, None)) for n in range(240)]
    return [*frames[:3], mixed, *frames[3:]]


def forecast_min(monitor: Monitor) -> float:
    said = [event for given in pour() for event in monitor.step(given)]
    last = [event for event in said if isinstance(event, GelForecast)][-1]
    return (last.gel_s - 10.0) / 60.0


def test_a_slow_can_is_expected_slow_before_any_heat_is_seen(tmp_path: Path) -> None:
    taught_shop(tmp_path)
    watch = read_watch(tmp_path / "bench.toml", tmp_path / "job.toml")
    place = find_place(watch, GROUPS, ManualClock(), fresh=True)
    assert place.learnt is not None
    learnt = forecast_min(Monitor(with_prior(watch.job, place.learnt), GROUPS))
    assert learnt == pytest.approx(90.0, rel=0.12)
    assert forecast_min(Monitor(watch.job, GROUPS)) < 50.0


def test_a_cut_goes_on_from_what_was_known_at_the_pour_whatever_came_since(tmp_path: Path) -> None:
    taught_shop(tmp_path)
    watch = read_watch(tmp_path / "bench.toml", tmp_path / "job.toml")
    begun = find_place(watch, GROUPS, ManualClock(), fresh=True)
    pour_folder(tmp_path / "jobs", JOB.replace("hatch form", "other form"), gel_s=1200.0)
    past_jobs(tmp_path / "jobs")
    again = find_place(watch, GROUPS, ManualClock(60.0), fresh=False)
    assert (again.folder, again.learnt) == (begun.folder, begun.learnt)


def test_a_record_that_began_from_jobs_replays_the_same(tmp_path: Path) -> None:
    taught_shop(tmp_path)
    watch = read_watch(tmp_path / "bench.toml", tmp_path / "job.toml")
    place = find_place(watch, GROUPS, ManualClock(), fresh=True)
    monitor = Monitor(with_prior(watch.job, place.learnt), GROUPS)
    writer = RecordWriter(place.folder, ManualClock(), version="0.1.0", zero_mono_s=0.0)
    for given in pour():
        writer.put(given, tuple(monitor.step(given)))
    writer.close(30.0)
    with open_record(place.folder) as record:
        result = compare(record, replay_record(record, lambda _: None))
    assert result.differences == ()
    assert result.events > 5
