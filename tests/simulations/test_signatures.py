"""What each shipped mishap of bag and pump must and must not make the core say."""

from __future__ import annotations

from functools import cache

import pytest

from firmware_host.model.events import AlarmChanged, AlarmState
from firmware_host.model.samples import Mark
from hardware.frames import FrameReader
from hardware.messages import SampleLine
from simulations.rig import Line, Marked, Rig
from simulations.scenario import load
from tests.bench.feed import Judge

AT_S = 4200.0
SAID = {
    "healthy": set(),
    "settling": set(),
    "throttled": set(),
    "leak": {"bag_leaking"},
    "leak_running": {"bag_leaking"},
    "cycling_leak": {"bag_leaking"},
    "pump_worn": {"pump_trouble"},
    "pump_stops": {"pump_trouble", "vacuum_lost"},
    "hose_pinched": {"pump_trouble"},
}
WITHIN_S = {"leak_running": 120.0, "pump_stops": 300.0, "hose_pinched": 1200.0}


@cache
def alarms_of(name: str) -> tuple[AlarmChanged, ...]:
    scenario = load(name)
    rig, judge, reader = Rig(scenario, period_s=1.0), Judge(scenario), FrameReader()
    said: list[object] = []
    for thing in rig.run_to(scenario.head.length_s):
        if isinstance(thing, Marked):
            at_s = round(thing.at_s, 3)
            said += judge.monitor.step(Mark(at_s, thing.name, at_s))
        elif isinstance(thing, Line):
            for message in reader.feed(thing.data):
                if isinstance(message, SampleLine):
                    frame = judge.channels.frame(message.raws, 0, message.t_ms)
                    said += judge.monitor.step(frame)
    return tuple(e for e in said if isinstance(e, AlarmChanged) and e.state is AlarmState.ACTIVE)


@pytest.mark.parametrize("name", SAID)
def test_each_mishap_raises_its_own_alarm_and_no_other(name: str) -> None:
    assert {alarm.name for alarm in alarms_of(name)} == SAID[name]


@pytest.mark.parametrize("name", WITHIN_S)
def test_it_is_said_in_time(name: str) -> None:
    first = next(a for a in alarms_of(name) if a.name != "vacuum_lost")
    assert AT_S < first.time_s <= AT_S + WITHIN_S[name]


def test_a_leak_after_the_kick_ranks_lower_and_says_why() -> None:
    (alarm,) = alarms_of("leak_running")
    assert alarm.priority == "medium"
    assert "has kicked" in alarm.text
    assert "Without the pump the limit is reached in" in alarm.text
