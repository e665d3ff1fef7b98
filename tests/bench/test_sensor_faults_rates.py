"""A board that is too fast, too slow or never on its beat changes no estimate."""

from __future__ import annotations

import random
from collections.abc import Sequence
from functools import cache
from pathlib import Path

import pytest

from firmware_host.config.load import parse_bench, parse_job
from firmware_host.core.monitor import Monitor
from firmware_host.inputs.port_channels import channels_by_port
from firmware_host.model.events import CureEstimated, Event
from firmware_host.model.samples import Frame
from simulations.files import bench_toml, job_toml
from simulations.sensors import PLACES, Sensors
from tests.bench.sensor_faults_bench import Story, story
from tests.bench.sensor_faults_cases import QUIET

pytestmark = pytest.mark.campaign

FINE_S = 0.2
EVERY = 5
"""Fine steps of the bench file's period: 1 s."""
LENGTH_S = 4500.0
"""Past the kick."""
MOST_ERROR = 1e-3


@cache
def job() -> Story:
    return story("healthy", 5, FINE_S, LENGTH_S)


def conversions(moments: Sequence[int]) -> dict[float, float]:
    """Conversion by time, from readings without noise at these moments."""
    told = job()
    text = bench_toml(
        told.scenario, Path("board"), Path("jobs"), Path("s.sock"), EVERY * FINE_S
    )  # fmt: skip
    (channels,) = channels_by_port(parse_bench(text, "bench.toml"))
    monitor = Monitor(parse_job(job_toml(told.scenario), "job.toml"), (channels.group,))
    sensors, said, taken = Sensors(QUIET, (), 1), list[Event](), 0
    for number in moments:
        marks = [mark for moment in told.moments[taken : number + 1] for mark in moment.marks]
        taken, moment = number + 1, told.moments[number]
        for mark in marks:
            said += monitor.step(mark)
        read = sensors.read(moment.at_s, moment.truth)
        values = tuple(read[name].value for name in PLACES)
        said += monitor.step(Frame(round(moment.at_s, 3), 0, values, (None,) * len(values)))
    return {event.time_s: event.conversion for event in said if isinstance(event, CureEstimated)}


@cache
def clean() -> dict[float, float]:
    return conversions(range(EVERY - 1, last(), EVERY))


def last() -> int:
    return round(LENGTH_S / FINE_S)


def jittering() -> list[int]:
    """Beats of 1 s, each off by up to four fifths of a period."""
    rng = random.Random(3)
    return sorted({beat + rng.randint(-4, 4) for beat in range(EVERY - 1, last() - EVERY, EVERY)})


@pytest.mark.parametrize(
    "moments",
    [
        pytest.param(range(0, last()), id="five times too fast"),
        pytest.param(range(5 * EVERY - 1, last(), 5 * EVERY), id="five times too slow"),
        pytest.param(jittering(), id="off the beat by four fifths"),
    ],
)
def test_the_conversion_is_that_of_the_clean_run(moments: Sequence[int]) -> None:
    found, expected = conversions(moments), clean()
    shared = found.keys() & expected.keys()
    assert len(shared) > 40
    assert max(expected.values()) > 0.4
    assert max(abs(found[at_s] - expected[at_s]) for at_s in shared) < MOST_ERROR
