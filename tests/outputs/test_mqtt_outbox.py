"""The record is the outbox: in order, from what is stored, from where the cursor stands."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import msgspec
import pytest

from firmware_host.errors import RecordError
from firmware_host.model.events import AlarmState, Phase, PhaseEntered
from firmware_host.model.samples import Tick
from firmware_host.outputs.mqtt_cursor import Cursor
from firmware_host.outputs.mqtt_outbox import ROWS_AT_ONCE, Outbox, Outgoing, clearing
from firmware_host.outputs.record import RecordWriter
from firmware_host.outputs.record_schema import RECORD_NAME
from tests.outputs.mqtt_parts import TOPICS, alarm, ids_of, job_of, put_alarms
from tests.outputs.record_parts import PATIENCE_S, make_folder, open_writer

NOWHERE = Cursor()
ALARM = TOPICS.alarm("vacuum_lost", None)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return make_folder(tmp_path / "jobs")


@pytest.fixture
def writer(folder: Path) -> Iterator[RecordWriter]:
    made = open_writer(folder)
    yield made
    made.close(PATIENCE_S)


def outbox(folder: Path, cursor: Cursor = NOWHERE) -> Outbox:
    made = Outbox(folder, TOPICS, job_of(folder), cursor)
    made.refill(0.0)
    return made


def sent(box: Outbox) -> Iterator[Outgoing]:
    """Send everything and confirm it."""
    while (head := box.head) is not None:
        yield head
        box.confirmed()
        box.refill(0.0)


def id_of(message: Outgoing) -> str:
    return str(msgspec.json.decode(message.payload)["id"])


def test_an_alarm_goes_out_before_its_notice_and_counts_when_both_are_confirmed(
    folder: Path, writer: RecordWriter
) -> None:
    put_alarms(writer, 1, 1)
    assert writer.flush(PATIENCE_S)
    box = outbox(folder)
    assert box.head is not None
    assert (box.head.topic, box.head.retain, box.through.event) == (ALARM, True, 0)
    box.confirmed()
    assert box.head is not None
    assert (box.head.topic, box.head.retain, box.through.event) == (TOPICS.notice, False, 0)
    box.confirmed()
    assert list(sent(box)) == []
    assert box.through == Cursor(event=1)


def test_what_is_not_stored_does_not_go_out(folder: Path, writer: RecordWriter) -> None:
    assert outbox(folder).head is None
    put_alarms(writer, 1, 1)
    assert writer.flush(PATIENCE_S)
    assert outbox(folder).head is not None


def test_more_than_one_reading_comes_in_order_and_once(folder: Path, writer: RecordWriter) -> None:
    count = ROWS_AT_ONCE + 3
    put_alarms(writer, 1, count)
    assert writer.flush(PATIENCE_S)
    box = outbox(folder)
    assert [id_of(one) for one in sent(box) if one.topic == ALARM] == ids_of(folder, 1, count)
    assert box.through.event == count


def test_what_nobody_must_hear_moves_the_cursor_on(folder: Path, writer: RecordWriter) -> None:
    writer.put(Tick(1.0), [PhaseEntered(time_s=1.0, phase=Phase.WORKING, since_s=1.0)])
    assert writer.flush(PATIENCE_S)
    box = outbox(folder)
    assert (box.head, box.through.event) == (None, 1)


def test_after_a_restart_it_goes_on_behind_the_cursor_and_knows_what_stands(
    folder: Path, writer: RecordWriter
) -> None:
    put_alarms(writer, 1, 4)
    assert writer.flush(PATIENCE_S)
    box = outbox(folder, Cursor(event=3))
    assert [id_of(one) for one in box.standing] == ids_of(folder, 3, 3)
    assert (box.has_told("vacuum_lost-3"), box.has_told("vacuum_lost-4")) == (True, False)
    assert [id_of(one) for one in sent(box) if one.topic == ALARM] == ids_of(folder, 4, 4)


def test_the_last_confirmed_word_on_each_alarm_stands(folder: Path, writer: RecordWriter) -> None:
    events = [alarm(1), alarm(1, name="bag_leaking"), alarm(1, AlarmState.RETURNED)]
    writer.put(Tick(1.0), events)
    assert writer.flush(PATIENCE_S)
    box = outbox(folder)
    assert len(list(sent(box))) == 5
    code = job_of(folder).code
    assert [id_of(one) for one in box.standing] == [
        f"{code}.vacuum_lost-1.returned",
        f"{code}.bag_leaking-1.active",
    ]


def test_an_event_that_was_changed_is_not_told(folder: Path, writer: RecordWriter) -> None:
    put_alarms(writer, 1, 2)
    assert writer.flush(PATIENCE_S)
    with closing(sqlite3.connect(folder / RECORD_NAME)) as other, other:
        other.execute("UPDATE event SET body = replace(body, 'tape', 'pump') WHERE n = 2")
    box = Outbox(folder, TOPICS, job_of(folder), Cursor())
    with pytest.raises(RecordError, match="event 2 does not fit its check"):
        box.refill(0.0)


def test_a_new_job_clears_what_the_last_one_left_standing(
    folder: Path, writer: RecordWriter
) -> None:
    writer.put(
        Tick(1.0),
        [
            alarm(1),
            alarm(1, name="bag_leaking"),
            alarm(1, AlarmState.ACKNOWLEDGED, name="bag_leaking"),
            alarm(1, AlarmState.CLEAR, name="bag_leaking"),
        ],
    )
    assert writer.flush(PATIENCE_S)
    (message,) = clearing(folder, TOPICS)
    said = msgspec.json.decode(message.payload)
    assert (message.topic, message.retain, said["state"]) == (ALARM, True, "clear")
    assert said["id"] == f"{job_of(folder).code}.vacuum_lost-1.clear"


def test_a_job_that_cannot_be_read_leaves_nothing_to_clear(tmp_path: Path) -> None:
    assert clearing(tmp_path, TOPICS) == ()
