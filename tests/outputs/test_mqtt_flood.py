"""Many alarms in a minute: the first ten one by one, then a line a minute, whatever happens."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import msgspec
import pytest

from firmware_host.model.events import AlarmChanged, AlarmState, Phase, PhaseEntered
from firmware_host.model.samples import Tick
from firmware_host.model.wire import NoticeMessage
from firmware_host.outputs.mqtt_cursor import Cursor
from firmware_host.outputs.mqtt_flood import MINUTE_S, FloodGuard, summary_of
from firmware_host.outputs.mqtt_outbox import Outbox
from firmware_host.outputs.record import RecordWriter
from tests.outputs.mqtt_parts import TOPICS, alarm, job_of
from tests.outputs.record_parts import PATIENCE_S, make_folder, open_writer


def at(time_s: float, number: int, name: str = "sensor_fault") -> AlarmChanged:
    return replace(alarm(number, name=name), time_s=time_s, raised_s=time_s)


def passed(guard: FloodGuard, times_s: list[float]) -> list[bool]:
    return [guard.passes(n, at(time_s, n)) for n, time_s in enumerate(times_s, start=1)]


def test_ten_in_a_minute_pass_and_the_eleventh_does_not() -> None:
    assert passed(FloodGuard(0), [0.0] * 11) == [True] * 10 + [False]


@pytest.mark.parametrize(("eleventh_s", "passes"), [(MINUTE_S - 0.001, False), (MINUTE_S, True)])
def test_the_eleventh_passes_a_minute_after_the_first(eleventh_s: float, *, passes: bool) -> None:
    assert passed(FloodGuard(0), [0.0] * 10 + [eleventh_s])[-1] is passes


def test_while_the_flood_goes_on_nothing_passes_alone_however_long() -> None:
    assert sum(passed(FloodGuard(0), [5.0 * n for n in range(500)])) == 10


def test_what_is_held_back_is_given_after_its_minute_and_once() -> None:
    guard = FloodGuard(0)
    passed(guard, [0.0] * 10 + [2.0, 30.0])
    assert guard.take(2.0 + MINUTE_S - 0.001) is None
    held = guard.take(2.0 + MINUTE_S)
    assert held is not None
    assert ([event.time_s for event in held.events], held.through) == ([2.0, 30.0], 12)
    assert guard.take(math.inf) is None


def test_what_was_said_as_one_of_many_is_not_held_back_again() -> None:
    guard = FloodGuard(summed=11)
    passed(guard, [0.0] * 12)
    held = guard.take(MINUTE_S)
    assert held is not None
    assert (len(held.events), held.through) == (1, 12)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return make_folder(tmp_path / "jobs")


@pytest.fixture
def writer(folder: Path) -> Iterator[RecordWriter]:
    made = open_writer(folder)
    yield made
    made.close(PATIENCE_S)


def test_the_line_names_how_many_of_what_and_since_when(folder: Path) -> None:
    job = job_of(folder)
    held = [at(0.0, 1), at(1.0, 2, "vacuum_lost"), at(59.0, 3)]
    held[1:2] = [replace(held[1], priority="high")]
    first, last = (f"{job.date(held[n].time_s)[11:16]}" for n in (0, -1))
    assert summary_of(held, job) == NoticeMessage(
        schema=1,
        job=job.code,
        title="3 more alarms",
        text=f"{last} Since {first}: sensor fault 2, vacuum lost 1. "
        "Too many to say one by one; look at the bench.",
        priority="high",
        id=f"{job.code}.sensor_fault-1.more",
    )


def flood(writer: RecordWriter, count: int) -> None:
    """Raise and return an alarm once a second."""
    for number in range(1, count + 1):
        event = at(float(number), number)
        events = [event, replace(event, state=AlarmState.RETURNED, time_s=number + 0.5)]
        writer.put(Tick(float(number)), events)
    assert writer.flush(PATIENCE_S)


def told(box: Outbox, now_s: float, most: int = 10_000) -> list[tuple[str, str]]:
    """Send what is due and confirm it; gives topics and ids."""
    sent: list[tuple[str, str]] = []
    box.refill(now_s)
    while (head := box.head) is not None and len(sent) < most:
        sent.append((head.topic, msgspec.json.decode(head.payload)["id"]))
        box.confirmed()
        box.refill(now_s)
    return sent


def notices(sent: list[tuple[str, str]]) -> list[str]:
    return [id_.partition(".")[2] for topic, id_ in sent if topic == TOPICS.notice]


def test_the_alarms_own_topic_hears_everything_while_notices_are_held_back(
    folder: Path, writer: RecordWriter
) -> None:
    flood(writer, 100)
    sent = told(Outbox(folder, TOPICS, job_of(folder), Cursor()), 200.0)
    assert sum("/alarm/" in topic for topic, _ in sent) == 200
    assert notices(sent) == [
        *(f"sensor_fault-{n}.notice" for n in range(1, 11)),
        "sensor_fault-11.more",
        "sensor_fault-71.more",
    ]


def test_the_last_line_waits_for_its_minute_and_needs_no_further_event(
    folder: Path, writer: RecordWriter
) -> None:
    flood(writer, 12)
    box = Outbox(folder, TOPICS, job_of(folder), Cursor())
    assert len(notices(told(box, 11.0 + MINUTE_S - 0.1))) == 10
    assert box.through == Cursor(event=24)
    assert notices(told(box, 11.0 + MINUTE_S)) == ["sensor_fault-11.more"]
    assert box.through == Cursor(event=24, summed=23)


@pytest.mark.parametrize("before", [1, 25, 30, 31, 70, 150, 190, 211, 212])
def test_cut_off_anywhere_it_says_what_is_left_and_nothing_else(
    folder: Path, writer: RecordWriter, before: int
) -> None:
    flood(writer, 100)
    whole = told(Outbox(folder, TOPICS, job_of(folder), Cursor()), 200.0)
    first = Outbox(folder, TOPICS, job_of(folder), Cursor())
    sent = told(first, 200.0, before)
    again = told(Outbox(folder, TOPICS, job_of(folder), first.through), 200.0)
    # Between an alarm and its own notice the alarm is said twice.
    assert list(dict.fromkeys(sent + again)) == whole
    assert len(sent) + len(again) <= len(whole) + 1


def test_the_kick_and_the_end_are_never_held_back(folder: Path, writer: RecordWriter) -> None:
    flood(writer, 20)
    writer.put(Tick(21.0), [PhaseEntered(time_s=21.0, phase=Phase.KICKED, since_s=21.0)])
    assert writer.flush(PATIENCE_S)
    box = Outbox(folder, TOPICS, job_of(folder), Cursor())
    assert notices(told(box, 21.0))[-1] == "kicked.notice"
