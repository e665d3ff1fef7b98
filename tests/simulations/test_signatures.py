"""What each shipped mishap of bag and pump must and must not make the core say."""

from __future__ import annotations

from functools import cache

import pytest

from firmware_host.model.events import AlarmChanged
from tests.bench import signatures

AT_S = 4200.0
SLOW = {
    "barometer_falls",
    "bridge_bursts",
    "film_lifts_when_cured",
    "form_leaks",
    "leak_creeps",
    "pleat_over_gauge",
    "pot_fills",
    "pump_oil_wet",
}
"""Played by the bench alone."""
SAID = [name for name in signatures.MUST_SAY if name not in SLOW]
WITHIN_S = {"leak_running": 120.0, "pump_stops": 300.0, "hose_pinched": 1200.0}


@cache
def alarms_of(name: str) -> tuple[AlarmChanged, ...]:
    return signatures.alarms_of(name)


@pytest.mark.parametrize("name", SAID)
def test_each_mishap_raises_its_own_alarm_and_no_other(name: str) -> None:
    assert {alarm.name for alarm in alarms_of(name)} == signatures.MUST_SAY[name]


@pytest.mark.parametrize("name", WITHIN_S)
def test_it_is_said_in_time(name: str) -> None:
    first = next(a for a in alarms_of(name) if a.name != "vacuum_lost")
    assert AT_S < first.time_s <= AT_S + WITHIN_S[name]


def test_a_leak_after_the_kick_ranks_lower_and_says_why() -> None:
    (alarm,) = alarms_of("leak_running")
    assert alarm.priority == "medium"
    assert "has kicked" in alarm.text
    assert "Without the pump the limit is reached in" in alarm.text
