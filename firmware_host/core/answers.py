"""What a whole log amounts to: events gathered into the answers that `replay --json` writes.

Pure. Numbers are finite; intervals are 95 %; times count as in the log.
"""

from __future__ import annotations

from typing import Any

from firmware_host.model.events import (
    AlarmChanged,
    AlarmState,
    CureEstimated,
    Event,
    GelForecast,
    GelPlaced,
    LeakChecked,
    SensorFaultChanged,
)

SCHEMA = 1
Json = dict[str, Any]


class Answers:
    """Collects events, in the order in which they were said."""

    def __init__(self) -> None:
        self._tests: list[Json] = []
        self._alarms: dict[str, Json] = {}
        self._cure: list[Json] = []
        self._forecasts: list[Json] = []
        self._gel: Json | None = None
        self._faults: dict[tuple[str, float], Json] = {}

    def take(self, event: Event) -> None:
        """Take one event."""
        match event:
            case LeakChecked(final=True):
                self._tests.append(_test(event))
            case AlarmChanged():
                self._alarm(event)
            case CureEstimated():
                self._cure.append(
                    {
                        "time_s": event.time_s,
                        "conversion": event.conversion,
                        "low": event.low,
                        "high": event.high,
                    }
                )
            case GelForecast():
                self._forecasts.append(
                    {
                        "at_s": event.time_s,
                        "gel_s": event.gel_s,
                        "low_s": event.low_s,
                        "high_s": event.high_s,
                    }
                )
            case GelPlaced():
                self._gel = {
                    "time_s": event.gel_s,
                    "low_s": event.low_s,
                    "high_s": event.high_s,
                }
            case SensorFaultChanged():
                self._faults[event.channel, event.start_s] = {
                    "channel": event.channel,
                    "kind": event.kind,
                    "start_s": event.start_s,
                    "end_s": event.end_s,
                }
            case _:
                pass

    def document(self) -> Json:
        """Give the answers as the contract's JSON object."""
        return {
            "schema": SCHEMA,
            "leak_checks": self._tests,
            "alarms": list(self._alarms.values()),
            "cure": self._cure,
            "forecasts": self._forecasts,
            "gel": self._gel,
            "sensor_faults": list(self._faults.values()),
        }

    def _alarm(self, event: AlarmChanged) -> None:
        entry = self._alarms.setdefault(
            event.id,
            {
                "name": event.name,
                "raised_s": event.raised_s,
                "cleared_s": None,
                "channel": event.channel,
            },
        )
        if event.state in (AlarmState.RETURNED, AlarmState.CLEAR):
            entry["cleared_s"] = event.cleared_s


def _test(test: LeakChecked) -> Json:
    """One drop test; where nothing could be fitted the interval is all that is possible."""
    known = test.rise_pa_per_s is not None
    return {
        "start_s": test.start_s,
        "end_s": test.end_s,
        "decided_s": test.decided_s,
        "rise_pa_per_s": test.rise_pa_per_s if known else 0.0,
        "rise_low_pa_per_s": test.rise_low_pa_per_s if known else 0.0,
        "rise_high_pa_per_s": test.rise_high_pa_per_s if known else UNKNOWN_RISE_PA_PER_S,
        "verdict": test.verdict.value,
    }


UNKNOWN_RISE_PA_PER_S = 101325.0
"""A test too short to fit says: anything up to a bag that fills within a second."""
