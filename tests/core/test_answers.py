"""Events gathered into the document of a replay."""

from __future__ import annotations

import json

from firmware_host.core.answers import UNKNOWN_RISE_PA_PER_S, Answers, Json
from firmware_host.model.events import (
    AlarmChanged,
    AlarmState,
    CureEstimated,
    Event,
    GelForecast,
    GelPlaced,
    LeakChecked,
    SensorFaultChanged,
    Verdict,
)


def gathered(*events: Event) -> Json:
    answers = Answers()
    for event in events:
        answers.take(event)
    return answers.document()


def leak_check(*, final: bool, rise: float | None = 1.0) -> LeakChecked:
    return LeakChecked(
        time_s=300.0,
        number=1,
        start_s=0.0,
        end_s=300.0,
        decided_s=None if rise is None else 60.0,
        rise_pa_per_s=rise,
        rise_low_pa_per_s=rise,
        rise_high_pa_per_s=rise,
        whole_rise_pa_per_s=rise,
        limit_pa_per_s=3.3,
        verdict=Verdict.UNDECIDED if rise is None else Verdict.TIGHT,
        final=final,
    )


def alarm(state: AlarmState, number: int = 1, cleared_s: float | None = None) -> AlarmChanged:
    return AlarmChanged(
        time_s=100.0,
        id=f"vacuum_lost-{number}",
        name="vacuum_lost",
        channel=None,
        state=state,
        priority="high",
        raised_s=90.0,
        cleared_s=cleared_s,
        text="",
        action="",
    )


def test_a_log_without_events_gives_the_whole_empty_document() -> None:
    assert gathered() == {
        "schema": 1,
        "leak_checks": [],
        "alarms": [],
        "cure": [],
        "forecasts": [],
        "gel": None,
        "sensor_faults": [],
    }


def test_only_the_last_word_on_a_drop_test_is_listed() -> None:
    assert gathered(leak_check(final=False), leak_check(final=True))["leak_checks"] == [
        {
            "start_s": 0.0,
            "end_s": 300.0,
            "decided_s": 60.0,
            "rise_pa_per_s": 1.0,
            "rise_low_pa_per_s": 1.0,
            "rise_high_pa_per_s": 1.0,
            "verdict": "tight",
        }
    ]


def test_a_test_too_short_to_fit_has_numbers_all_the_same() -> None:
    (entry,) = gathered(leak_check(final=True, rise=None))["leak_checks"]
    assert entry["rise_low_pa_per_s"] == 0.0
    assert entry["rise_high_pa_per_s"] == UNKNOWN_RISE_PA_PER_S
    assert (entry["verdict"], entry["decided_s"]) == ("undecided", None)


def test_an_alarm_is_one_entry_from_raised_to_cleared() -> None:
    raised, seen = alarm(AlarmState.ACTIVE), alarm(AlarmState.ACKNOWLEDGED)
    entry = {"name": "vacuum_lost", "raised_s": 90.0, "channel": None}
    assert gathered(raised, seen)["alarms"] == [{**entry, "cleared_s": None}]
    gone = alarm(AlarmState.CLEAR, cleared_s=120.0)
    assert gathered(raised, seen, gone)["alarms"] == [{**entry, "cleared_s": 120.0}]


def test_an_alarm_raised_again_is_a_second_entry() -> None:
    again = gathered(
        alarm(AlarmState.ACTIVE),
        alarm(AlarmState.RETURNED, cleared_s=95.0),
        alarm(AlarmState.ACTIVE, number=2),
    )["alarms"]
    assert [entry["cleared_s"] for entry in again] == [95.0, None]


def test_a_later_gel_replaces_an_earlier_one() -> None:
    first, later = (GelPlaced(time_s=t, gel_s=t - 9.0, low_s=1.0, high_s=t) for t in (50.0, 60.0))
    assert gathered(first, later)["gel"] == {"time_s": 51.0, "low_s": 1.0, "high_s": 60.0}


def test_a_fault_that_ended_is_one_entry_with_its_end() -> None:
    open_one, ended = (
        SensorFaultChanged(time_s=9.0, channel="part1", kind="open", start_s=4.0, end_s=end_s)
        for end_s in (None, 8.0)
    )
    fault = {"channel": "part1", "kind": "open", "start_s": 4.0}
    assert gathered(open_one)["sensor_faults"] == [{**fault, "end_s": None}]
    assert gathered(open_one, ended)["sensor_faults"] == [{**fault, "end_s": 8.0}]


def test_cure_and_forecasts_are_kept_in_the_order_they_were_said() -> None:
    document = gathered(
        CureEstimated(time_s=60.0, conversion=0.1, low=0.0, high=0.2),
        GelForecast(time_s=60.0, gel_s=900.0, low_s=600.0, high_s=1500.0),
    )
    assert document["cure"] == [{"time_s": 60.0, "conversion": 0.1, "low": 0.0, "high": 0.2}]
    assert document["forecasts"] == [
        {"at_s": 60.0, "gel_s": 900.0, "low_s": 600.0, "high_s": 1500.0}
    ]
    json.dumps(document, allow_nan=False)
