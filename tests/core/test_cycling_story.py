"""A small leak behind a cycling pump, and a second bag on the same line: a telescope dust cap.

The switch holds 24 to 22 inHg. A leak that grows makes the pump start every 4 min instead of every
13, and the level never leaves its band. The sawtooth is drawn here, by no law of the simulator.
"""

from __future__ import annotations

import math
import random
from functools import cache

import pytest

from firmware_host.config.load import parse_job
from firmware_host.core.monitor import Monitor
from firmware_host.model.channels import channel_named
from firmware_host.model.events import AlarmChanged, AlarmState, Event
from firmware_host.model.samples import Frame, Group, Mark

ROOM_PA = 101_325.0
PA_PER_INHG = 3386.389
LOW_PA, HIGH_PA = (ROOM_PA - vacuum * PA_PER_INHG for vacuum in (24.0, 22.0))
LEAST_WANTED_PA = ROOM_PA - 15.0 * PA_PER_INHG
LIMIT_PA_PER_S = PA_PER_INHG / 300.0
PULL_S = 9.0
PERIOD_S = 2
GROWS_S, GROWN_S = 1800.0, 4200.0
STOPS_S = 2400
ENDS_S = {"grows": 4620, "shared": 2700, "stops": 3700}
JOB = f"""[job]
part = "telescope dust cap"
[resin]
family = "polyester"
[bag]
drop_rule = "1 inHg in 5 min"
pressure_limit_mbar = {LEAST_WANTED_PA / 100.0:.1f}
pump_cycle_mbar = [{LOW_PA / 100.0:.1f}, {HIGH_PA / 100.0:.1f}]
[limits]
latest_gel_min = 600.0
"""
SLOW, FAST = (HIGH_PA - LOW_PA) / (13.0 * 60.0), (HIGH_PA - LOW_PA) / (4.0 * 60.0)


def leak_pa_per_s(time_s: float) -> float:
    """From a start every 13 min to one every 4, over 40 min."""
    share = min(max((time_s - GROWS_S) / (GROWN_S - GROWS_S), 0.0), 1.0)
    return SLOW + share * (FAST - SLOW)


Told = tuple[tuple[AlarmChanged, ...], tuple[float, ...], dict[int, float]]


class Sawtooth:
    """A bag between two switch points."""

    def __init__(self) -> None:
        self.bag_pa = ROOM_PA
        self.pulls = True
        self.starts: list[float] = []

    def step(self, time_s: float, leak: float, *, powered: bool = True) -> None:
        """Go on by a second."""
        if self.bag_pa >= HIGH_PA and not self.pulls:
            self.pulls = True
            self.starts.append(time_s)
        elif self.bag_pa <= LOW_PA:
            self.pulls = False
        if self.pulls and powered and time_s > 900.0:
            self.bag_pa = 5_000.0 + (self.bag_pa - 5_000.0) * math.exp(-1.0 / PULL_S)
        if time_s > 900.0:
            self.bag_pa += leak


@cache
def told(
    story: str, opens_s: int = 0
) -> tuple[tuple[AlarmChanged, ...], tuple[float, ...], dict[int, float]]:
    """The alarms raised, the pump's starts, and the bag's pressure by second."""
    rng = random.Random(story)
    channels = tuple(map(channel_named, ("bag", "part1", "shop")))
    monitor = Monitor(parse_job(JOB, "job.toml"), (Group("board", channels, float(PERIOD_S)),))
    bag, said, level = Sawtooth(), list[Event](), dict[int, float]()
    marks = {300: "mixed", 800: "bag_closed", 905: "pump_on"}
    for second in range(1, ENDS_S[story]):
        at_s = float(second)
        if second in marks:
            said += monitor.step(Mark(at_s - 0.5, marks[second], at_s - 0.5))
        leak = leak_pa_per_s(at_s) if story == "grows" else SLOW
        bag.step(at_s, leak, powered=story != "stops" or second < STOPS_S)
        if story == "shared" and second == opens_s:
            # Another bag's air, while the pump is at it: from 24.6 down to 17.0 inHg.
            bag.bag_pa, bag.pulls = ROOM_PA - 17.0 * PA_PER_INHG, True
        level[second] = bag.bag_pa
        if second % PERIOD_S == 0:
            temps = (289.15 + rng.gauss(0.0, 0.05) for _ in channels[1:])
            read = (bag.bag_pa + rng.gauss(0.0, 20.0), *temps)
            said += monitor.step(Frame(at_s, 0, tuple(round(v, 3) for v in read), (None,) * 3))
    raised = tuple(e for e in said if isinstance(e, AlarmChanged) and e.state is AlarmState.ACTIVE)
    return raised, tuple(bag.starts), level


def test_the_leak_is_called_within_two_cycles_of_crossing_the_limit() -> None:
    raised, starts, level = told("grows")
    crossed_s = next(t for t in level if leak_pa_per_s(float(t)) > LIMIT_PA_PER_S)
    assert all(level[t] < HIGH_PA + 200.0 for t in level if t > 1000)
    assert starts[-1] - starts[-2] < 300.0
    (leaking,) = raised
    assert leaking.name == "bag_leaking"
    assert leak_pa_per_s(leaking.time_s) > 0.9 * LIMIT_PA_PER_S
    assert leaking.time_s <= [t for t in starts if t > crossed_s][2]
    assert leaking.priority == "high"
    assert "has not kicked" in leaking.text


def test_a_pump_that_stops_is_called_long_before_the_least_wanted_vacuum() -> None:
    raised, _, level = told("stops")
    (trouble,) = raised
    assert trouble.name == "pump_trouble"
    assert HIGH_PA < level[int(trouble.time_s)] < HIGH_PA + 0.25 * (LEAST_WANTED_PA - HIGH_PA)


@pytest.mark.parametrize("opens_s", [1790, 2000, 2400, 2503])
def test_gas_shared_with_a_second_bag_is_no_leak(opens_s: int) -> None:
    """At the start, in the middle and at the end of a rise."""
    raised, _, level = told("shared", opens_s)
    assert max(level[t] for t in range(opens_s, opens_s + 5)) > HIGH_PA + 15_000.0
    assert level[opens_s + 60] < HIGH_PA
    assert raised == ()
