"""Order and retries, over a connection that confirms when it is told to."""

from __future__ import annotations

from collections import deque
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import msgspec
import pytest

from firmware_host.model.events import AlarmState
from firmware_host.model.snapshot import AlarmView, Snapshot
from firmware_host.outputs.mqtt_cursor import Cursor
from firmware_host.outputs.mqtt_outbox import Outbox, Outgoing
from firmware_host.outputs.mqtt_path import FIRST_REFUSED_PAUSE_S, PathWatch
from firmware_host.outputs.mqtt_sender import Sender
from firmware_host.outputs.mqtt_state import EVERY_S, StateTeller
from firmware_host.outputs.record import RecordWriter
from tests.model.test_wire import VIEW, snapshot
from tests.outputs.mqtt_parts import TOPICS, alarm, ids_of, job_of, put_alarms
from tests.outputs.record_parts import PATIENCE_S, make_folder, open_writer

PRESENCE = Outgoing(topic=TOPICS.presence, payload=b"{}", retain=True)
ALARM = TOPICS.alarm("vacuum_lost", None)


class FakeLine:
    """Writes down what it is given."""

    def __init__(self) -> None:
        self.confirmed: deque[tuple[int, str]] = deque()
        self.sent: list[Outgoing] = []

    def publish(self, message: Outgoing) -> int:
        self.sent.append(message)
        return len(self.sent)

    def take(self, number: int, refusal: str = "") -> None:
        self.confirmed.append((number, refusal))


class Rig:
    """A sender over a record with two alarms."""

    def __init__(self, folder: Path) -> None:
        self.outbox = Outbox(folder, TOPICS, job_of(folder), Cursor())
        self.outbox.refill(0.0)
        self.state = StateTeller(TOPICS, job_of(folder))
        self.path = PathWatch("127.0.0.1:1883", 0.0)
        self.sender = Sender(self.outbox, self.state, self.path)
        self.line = FakeLine()

    def turn(self, now_s: float) -> list[str]:
        """Do what is due; gives the topics of what was sent."""
        before = len(self.line.sent)
        self.sender.settle(self.line, now_s)
        self.sender.send(self.line, now_s)
        return [message.topic for message in self.line.sent[before:]]

    def take_all(self, now_s: float) -> list[Outgoing]:
        """Confirm everything until nothing is left to send."""
        taken = 0
        while not self.sender.is_idle or self.line.confirmed:
            self.turn(now_s)
            for number in range(taken + 1, len(self.line.sent) + 1):
                self.line.take(number)
            taken = len(self.line.sent)
        return self.line.sent


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return make_folder(tmp_path / "jobs")


@pytest.fixture
def writer(folder: Path) -> Iterator[RecordWriter]:
    made = open_writer(folder)
    put_alarms(made, 1, 2)
    assert made.flush(PATIENCE_S)
    yield made
    made.close(PATIENCE_S)


@pytest.fixture
def rig(folder: Path, writer: RecordWriter) -> Rig:
    assert writer.stored.inputs == 2
    return Rig(folder)


def test_presence_stands_before_any_event_and_one_message_is_under_way(rig: Rig) -> None:
    rig.sender.connected([PRESENCE], events_from_s=0.0)
    assert rig.turn(0.0) == [TOPICS.presence]
    assert rig.turn(1.0) == []
    assert (rig.sender.oldest_sent_s, rig.sender.is_first_told) == (0.0, False)
    rig.line.take(1)
    assert rig.turn(2.0) == [ALARM]
    assert (rig.sender.oldest_sent_s, rig.sender.is_first_told) == (2.0, True)


def test_everything_goes_out_in_order(rig: Rig, folder: Path) -> None:
    rig.sender.connected([PRESENCE], events_from_s=0.0)
    sent = rig.take_all(0.0)
    told = [msgspec.json.decode(one.payload)["id"] for one in sent if one.topic == ALARM]
    assert told == ids_of(folder, 1, 2)
    assert (rig.outbox.through.event, rig.sender.oldest_sent_s) == (2, None)


def test_the_state_waits_for_no_alarm_and_no_alarm_for_it(rig: Rig) -> None:
    rig.state.show(snapshot())
    rig.sender.connected([], events_from_s=0.0)
    assert rig.turn(0.0) == [ALARM, TOPICS.state]
    rig.line.take(1)
    assert rig.turn(0.1) == [TOPICS.notice]


def test_after_a_loss_what_was_under_way_is_sent_again(rig: Rig) -> None:
    rig.sender.connected([], events_from_s=0.0)
    rig.turn(0.0)
    rig.sender.disconnected()
    assert rig.sender.oldest_sent_s is None
    rig.line.take(1)
    rig.sender.connected([PRESENCE], events_from_s=10.0)
    assert rig.turn(5.0) == [TOPICS.presence]
    assert rig.outbox.through.event == 0
    rig.line.take(2)
    assert rig.turn(9.9) == []
    assert rig.turn(10.0) == [ALARM]
    assert rig.line.sent[0] == rig.line.sent[2]


def test_a_refused_event_is_not_overtaken_and_is_tried_again_later(rig: Rig) -> None:
    rig.sender.connected([], events_from_s=0.0)
    rig.turn(0.0)
    rig.line.take(1, "Not authorized")
    assert rig.turn(0.1) == []
    assert rig.turn(FIRST_REFUSED_PAUSE_S) == []
    assert rig.turn(0.1 + 1.2 * FIRST_REFUSED_PAUSE_S) == [ALARM]
    assert rig.line.sent[0] == rig.line.sent[1]
    word = rig.path.look(8.0, None)
    assert word is not None
    assert "does not take bagvigil/north-bench/alarm/vacuum_lost: Not authorized" in word[1]


def test_a_refused_presence_holds_no_alarm_back_and_is_tried_again_later(rig: Rig) -> None:
    rig.sender.connected([PRESENCE], events_from_s=0.0)
    rig.turn(0.0)
    rig.line.take(1, "Not authorized")
    rig.turn(0.1)
    assert rig.turn(10.0) == [TOPICS.presence]


def test_an_answer_to_nothing_we_sent_changes_nothing(rig: Rig) -> None:
    rig.sender.connected([], events_from_s=0.0)
    rig.turn(0.0)
    rig.line.take(77)
    assert rig.turn(0.1) == []
    assert rig.outbox.through.event == 0


def faulty(*alarms: AlarmView) -> Snapshot:
    fault = replace(view_of(1), id="recording_fault-1", name="recording_fault", priority="medium")
    return snapshot(replace(VIEW, alarms=(fault, *alarms)))


def view_of(number: int) -> AlarmView:
    event = alarm(number)
    return AlarmView(
        id=event.id,
        name=event.name,
        channel=None,
        state=AlarmState.ACTIVE,
        priority=event.priority,
        raised_s=event.raised_s,
        text=event.text,
        action=event.action,
    )


def test_while_the_disk_takes_nothing_a_new_alarm_is_still_heard_of_once(
    rig: Rig, folder: Path
) -> None:
    rig.sender.connected([], events_from_s=0.0)
    rig.take_all(0.0)
    rig.state.show(faulty(view_of(2), view_of(3)))
    rig.turn(1.0)
    sent = [msgspec.json.decode(one.payload) for one in rig.take_all(2.0)]
    code = job_of(folder).code
    heard = [said["id"] for said in sent if "title" in said]
    assert heard == [
        f"{code}.vacuum_lost-1.notice",
        f"{code}.vacuum_lost-2.notice",
        f"{code}.recording_fault-1.notice",
        f"{code}.vacuum_lost-3.notice",
    ]


def test_while_the_disk_works_only_the_record_is_told(rig: Rig) -> None:
    rig.sender.connected([], events_from_s=0.0)
    rig.state.show(snapshot(replace(VIEW, alarms=(view_of(9),))))
    assert all(b"vacuum_lost-9" not in one.payload for one in rig.take_all(0.0))


def states(rig: Rig, now_s: float) -> int:
    """Take every state that is due; gives how many were."""
    count = 0
    while rig.state.due(now_s) is not None:
        count += 1
    return count


def test_a_state_that_only_moves_is_told_every_few_seconds(rig: Rig) -> None:
    rig.state.show(snapshot())
    assert states(rig, 0.0) == 1
    rig.state.show(snapshot(replace(VIEW, time_s=1_001.0)))
    assert [states(rig, EVERY_S - 0.01), states(rig, EVERY_S)] == [0, 1]


def test_a_state_of_which_nothing_is_new_is_not_told_again(rig: Rig) -> None:
    rig.state.show(snapshot())
    assert [states(rig, 0.0), states(rig, 100.0)] == [1, 0]


def test_a_new_alarm_or_phase_is_told_at_once(rig: Rig) -> None:
    rig.state.show(snapshot())
    assert states(rig, 0.0) == 1
    rig.state.show(snapshot(replace(VIEW, alarms=())))
    assert states(rig, 0.1) == 1


def test_a_new_connection_is_told_the_state_at_once_under_the_next_number(rig: Rig) -> None:
    rig.state.show(snapshot())
    first = rig.state.due(0.0)
    rig.state.begin_anew()
    second = rig.state.due(0.1)
    assert first is not None
    assert second is not None
    assert [msgspec.json.decode(one.payload)["seq"] for one in (first, second)] == [1, 2]
    assert (first.retain, first.expiry_s) == (True, 3600)
