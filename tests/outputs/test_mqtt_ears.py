"""Nothing but an acknowledgement of this job's alarm reaches the core."""

from __future__ import annotations

import logging

import pytest
from hypothesis import given
from hypothesis import strategies as st

from firmware_host.clock import ManualClock
from firmware_host.model.commands import AcknowledgeCommand
from firmware_host.model.wire import JobOnWire
from firmware_host.outputs.mqtt_ears import MOST_PER_S, AckEars

JOB = JobOnWire.of("2026-03-01-hatch-1", "2026-03-01T08:00:00.000+01:00")
GOOD = (
    f'{{"id":"{JOB.code}.vacuum_lost-1.active","by":"phone","time":"2026-03-01T08:00:00Z"}}'
).encode()
COMMAND = AcknowledgeCommand(id="vacuum_lost-1", by="phone")


class Rig:
    def __init__(self, *, has_room: bool = True) -> None:
        self.clock = ManualClock()
        self.taken: list[AcknowledgeCommand] = []
        self.has_room = has_room
        self.ears = AckEars(JOB, self.clock.monotonic_s, self.take)

    def take(self, command: AcknowledgeCommand) -> bool:
        self.taken.append(command)
        return self.has_room


def test_a_good_one_is_handed_over() -> None:
    rig = Rig()
    rig.ears.hear(GOOD)
    assert rig.taken == [COMMAND]


@given(st.binary(max_size=2000))
def test_no_bytes_do_anything(payload: bytes) -> None:
    rig = Rig()
    rig.ears.hear(payload)
    assert rig.taken == []


@given(st.binary(min_size=1, max_size=4), st.integers(0, len(GOOD)))
def test_a_good_one_with_bytes_in_it_names_that_alarm_or_nothing(junk: bytes, at: int) -> None:
    rig = Rig()
    rig.ears.hear(GOOD[:at] + junk + GOOD[at:])
    assert all(command.id.isprintable() for command in rig.taken)


def test_one_of_another_job_is_refused(caplog: pytest.LogCaptureFixture) -> None:
    rig = Rig()
    rig.ears.hear(GOOD.replace(JOB.code.encode(), b"0123456789"))
    assert rig.taken == []
    assert caplog.messages == [
        "acknowledgement refused, 1 so far: its id is of no alarm of this job"
    ]


def test_a_flood_is_cut_to_a_few_a_second_and_said_once(caplog: pytest.LogCaptureFixture) -> None:
    rig = Rig()
    with caplog.at_level(logging.WARNING):
        for _ in range(1000):
            rig.ears.hear(GOOD)
    assert len(rig.taken) == MOST_PER_S
    assert caplog.messages == ["acknowledgement refused, 1 so far: more than 5 a second"]
    rig.clock.turn(60.0)
    rig.ears.hear(GOOD)
    assert len(rig.taken) == MOST_PER_S + 1


def test_a_bench_that_is_too_busy_says_so(caplog: pytest.LogCaptureFixture) -> None:
    Rig(has_room=False).ears.hear(GOOD)
    assert caplog.messages == ["acknowledgement refused, 1 so far: the bench is too busy"]
