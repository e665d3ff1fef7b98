"""The way to a phone over a real broker: order, restarts, rights, hostile words, certificates.

A listener outside decides what arrived; it drops second copies by their `id`.
"""

from __future__ import annotations

import socket
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from firmware_host.clock import SystemClock
from firmware_host.model.commands import AcknowledgeCommand
from firmware_host.model.events import AlarmState
from firmware_host.model.samples import Tick
from firmware_host.outputs.mqtt_cursor import Cursor, read_cursor
from firmware_host.outputs.mqtt_start import NOBODY
from firmware_host.outputs.status_socket import Asked
from tests.model.test_wire import snapshot
from tests.outputs.broker import (
    BENCH,
    PASSWORD,
    Broker,
    Listener,
    make_certificates,
    sign_server,
)
from tests.outputs.mqtt_parts import (
    TOPICS,
    TelledBench,
    alarm,
    alarm_ids,
    ids_of,
    job_of,
    lay_out_password,
    real_s,
)
from tests.outputs.record_parts import PATIENCE_S, make_folder
from tests.waiting import until

LEAVES_WITHIN_S = 2.0
SAID_WITHIN_S = 4.5
"""What the broker refuses is said sooner than mere silence would be, even on a busy machine."""


@pytest.fixture
def broker(tmp_path: Path) -> Iterator[Broker]:
    made = Broker(tmp_path / "broker", tls=True)
    with made:
        yield made


@pytest.fixture
def listener(broker: Broker) -> Iterator[Listener]:
    with Listener(broker.port) as made:
        yield made


@pytest.fixture
def benches() -> Iterator[list[TelledBench]]:
    made: list[TelledBench] = []
    yield made
    for bench in made:
        bench.close()


def test_a_job_is_told_as_it_goes_and_taken_leave_of(
    broker: Broker, listener: Listener, tmp_path: Path
) -> None:
    bench = TelledBench(tmp_path, broker.port)
    bench.phone.show(snapshot())
    bench.raises(1, 1)
    until(lambda: listener.topics("notice") and listener.topics("state"))
    until(lambda: bench.told.words == [True])
    began_s = real_s()
    bench.close()
    assert real_s() - began_s < LEAVES_WITHIN_S
    until(lambda: len(listener.topics("presence")) == 2)
    assert [one.said["online"] for one in listener.topics("presence")] == [True, False]
    assert alarm_ids(listener) == ids_of(bench.folder, 1, 1)
    (notice,) = listener.topics("notice")
    assert notice.said["id"] == f"{job_of(bench.folder).code}.vacuum_lost-1.notice"
    with Listener(broker.port, "latecomer") as late:
        until(lambda: len(late.heard) >= 3)
        kept = {one.topic: one.is_retained for one in late.heard}
    assert kept == {
        TOPICS.presence: True,
        TOPICS.state: True,
        f"bagvigil/{BENCH}/alarm/vacuum_lost": True,
    }


def test_the_last_events_of_a_job_are_told_before_leave_is_taken(
    broker: Broker, listener: Listener, tmp_path: Path
) -> None:
    bench = TelledBench(tmp_path, broker.port)
    until(lambda: listener.topics("presence"))
    bench.raises(1, 40)
    bench.close()
    # The bench has its confirmations; the broker may still be handing the last word on.
    until(lambda: listener.heard[-1].said.get("online") is False)
    assert alarm_ids(listener) == ids_of(bench.folder, 1, 40)
    assert listener.heard[-1].said["online"] is False
    assert read_cursor(bench.folder) == Cursor(event=40, summed=40)


def test_a_wrong_password_is_said_at_once_and_not_tried_over_and_over(
    broker: Broker, tmp_path: Path, benches: list[TelledBench]
) -> None:
    broker.give_password("bench", "another")
    broker.reload()
    bench = TelledBench(tmp_path, broker.port)
    benches.append(bench)
    bench.raises(1, 1)
    until(lambda: bench.told.words == [False], SAID_WITHIN_S)
    assert "it refuses user 'bench'" in bench.told.last
    assert "check [mqtt] user and password_file" in bench.told.last
    until(lambda: bench.writer.flush(PATIENCE_S))
    assert read_cursor(bench.folder) is None
    log = (broker.place / "broker.log").read_text()
    assert log.count("not authorised") == 1


def child(place: Path, folder: Path, port: int, last: int) -> subprocess.Popen[bytes]:
    command = [sys.executable, "-m", "tests.outputs.mqtt_child", place, folder, port, last]
    return subprocess.Popen([str(word) for word in command])


def test_of_500_transitions_none_is_lost_or_overtaken_when_the_daemon_is_killed(
    broker: Broker, listener: Listener, tmp_path: Path
) -> None:
    folder = make_folder(tmp_path / "jobs", SystemClock())
    lay_out_password(tmp_path)
    for heard in (120, 310):
        run = child(tmp_path, folder, broker.port, 500)
        until(lambda: len(alarm_ids(listener)) >= heard, 30.0)  # noqa: B023 - called within this turn
        run.kill()
        run.wait()
        until(lambda: listener.topics("presence")[-1].said["online"] is False)
    assert child(tmp_path, folder, broker.port, 500).wait(60.0) == 0
    until(lambda: listener.heard[-1].said.get("online") is False)
    assert alarm_ids(listener) == ids_of(folder, 1, 500)
    notices = {one.said["id"]: one.said["title"] for one in listener.topics("notice")}
    code = job_of(folder).code
    alone = [f"{code}.vacuum_lost-{number}.notice" for number in range(1, 11)]
    # One a second: from the eleventh on a line a minute, and what the last minute left at the end.
    many = [f"{code}.vacuum_lost-{number}.more" for number in range(11, 501, 60)]
    assert list(notices) == [*alone, *many]
    assert [notices[id_] for id_ in many] == [*["60 more alarms"] * 8, "10 more alarms"]
    with Listener(broker.port, "latecomer") as late:
        until(lambda: len(late.heard) >= 2)
        assert alarm_ids(late) == ids_of(folder, 500, 500)


def test_a_new_job_clears_what_the_last_one_left_at_the_broker(
    broker: Broker, listener: Listener, tmp_path: Path
) -> None:
    first = TelledBench(tmp_path, broker.port)
    first.raises(1, 1)
    until(lambda: listener.topics("notice"))
    first.close()
    second = TelledBench(tmp_path, broker.port)
    until(lambda: "clear" in listener.states_of("vacuum_lost"))
    second.close()
    assert listener.states_of("vacuum_lost") == ["active", "clear"]
    third = TelledBench(tmp_path, broker.port, second.folder)
    until(lambda: third.told.words == [True])
    third.close()
    assert len(listener.topics("alarm/")) == 2


HOSTILE = [
    b"",
    b"[" * 1000,
    b'{"id":' + b"[" * 10_000,
    b"\xff\xfe\x00" * 20,
    b"x" * 65_536,
    b"x" * 1_000_000,
    b'{"id":"' + b"a" * 64_000 + b'","by":"b","time":"2026-03-01T08:00:00Z"}',
    b'{"acknowledge":{"id":"vacuum_lost-1","by":"b"}}',
]


def good_ack(bench: TelledBench) -> bytes:
    wire_id = ids_of(bench.folder, 1, 1)[0]
    return f'{{"id":"{wire_id}","by":"phone","time":"2026-03-01T08:00:00+01:00"}}'.encode()


def test_hostile_words_change_nothing_and_a_good_one_is_handed_over(
    broker: Broker, listener: Listener, tmp_path: Path, benches: list[TelledBench]
) -> None:
    bench = TelledBench(tmp_path, broker.port, accept_acknowledgements=True)
    benches.append(bench)
    until(lambda: listener.topics("presence"))
    for payload in HOSTILE:
        listener.say(TOPICS.ack, payload)
    bench.raises(1, 1)
    until(lambda: listener.topics("notice"))
    listener.say(TOPICS.ack, good_ack(bench))
    until(lambda: bench.told.asked)
    command = AcknowledgeCommand(id="vacuum_lost-1", by="phone")
    assert bench.told.asked == [Asked(token=NOBODY, command=command)]
    until(lambda: bench.told.words == [True])


def test_a_retained_acknowledgement_is_nobodys_word(
    broker: Broker, listener: Listener, tmp_path: Path, benches: list[TelledBench]
) -> None:
    first = TelledBench(tmp_path, broker.port)
    benches.append(first)
    listener.say(TOPICS.ack, good_ack(first), retain=True)
    until(lambda: listener.topics("ack"))
    second = TelledBench(tmp_path, broker.port, accept_acknowledgements=True)
    benches.append(second)
    until(lambda: second.told.words == [True])
    assert second.told.asked == []


def test_a_bench_that_does_not_accept_acknowledgements_listens_to_nobody(
    broker: Broker, listener: Listener, tmp_path: Path, benches: list[TelledBench]
) -> None:
    listening = TelledBench(tmp_path, broker.port, accept_acknowledgements=True)
    until(lambda: listener.topics("presence"))
    listening.close()
    bench = TelledBench(tmp_path, broker.port, listening.folder)
    benches.append(bench)
    until(lambda: bench.told.words == [True])
    listener.say(TOPICS.ack, good_ack(bench))
    bench.raises(1, 1)
    until(lambda: listener.topics("notice"))
    assert bench.told.asked == []


@pytest.mark.parametrize("host", ["127.0.0.1", "localhost"])
def test_an_encrypted_way_is_taken_to_a_broker_that_the_authority_vouches_for(
    broker: Broker, listener: Listener, tmp_path: Path, benches: list[TelledBench], host: str
) -> None:
    bench = TelledBench(tmp_path, broker.tls_port, host=host, ca_file=str(broker.place / "ca.pem"))
    benches.append(bench)
    bench.raises(1, 3)
    until(lambda: bench.told.words == [True])
    assert alarm_ids(listener) == ids_of(bench.folder, 1, 3)


@pytest.mark.filterwarnings("ignore:unclosed:ResourceWarning")  # the library lets go, unclosed
def test_a_broker_that_nobody_vouches_for_is_refused_by_name(
    broker: Broker, listener: Listener, tmp_path: Path, benches: list[TelledBench]
) -> None:
    bench = TelledBench(tmp_path, broker.tls_port, ca_file=str(broker.place / "other-ca.pem"))
    benches.append(bench)
    bench.raises(1, 1)
    until(lambda: bench.told.words == [False], SAID_WITHIN_S)
    assert "its certificate is not vouched for by [mqtt] ca_file" in bench.told.last
    assert listener.heard == []


def test_a_returned_alarm_keeps_its_place_among_the_others(
    broker: Broker, listener: Listener, tmp_path: Path, benches: list[TelledBench]
) -> None:
    bench = TelledBench(tmp_path, broker.port)
    benches.append(bench)
    bench.writer.put(Tick(1.0), [alarm(1)])
    bench.writer.put(Tick(2.0), [alarm(1, AlarmState.ACKNOWLEDGED)])
    bench.writer.put(Tick(3.0), [alarm(1, AlarmState.CLEAR)])
    until(lambda: len(listener.states_of("vacuum_lost")) == 3)
    assert listener.states_of("vacuum_lost") == ["active", "acknowledged", "clear"]
    assert len(listener.topics("notice")) == 1


@pytest.mark.filterwarnings("ignore:unclosed:ResourceWarning")  # the library lets go, unclosed
def test_a_certificate_for_another_host_is_refused_by_name(
    tmp_path: Path, benches: list[TelledBench]
) -> None:
    broker = Broker(tmp_path / "broker", tls=True)
    sign_server(broker.place, "subjectAltName=DNS:broker.example")
    with broker:
        bench = TelledBench(tmp_path, broker.tls_port, ca_file=str(broker.place / "ca.pem"))
        benches.append(bench)
        until(lambda: bench.told.words == [False], SAID_WITHIN_S)
        assert "its certificate is for another host" in bench.told.last


@pytest.mark.filterwarnings("ignore:unclosed:ResourceWarning")  # as above
def test_a_broker_without_encryption_is_refused_and_hears_no_password(
    tmp_path: Path, benches: list[TelledBench]
) -> None:
    make_certificates(tmp_path)
    with socket.create_server(("127.0.0.1", 0)) as plain:
        bench = TelledBench(tmp_path, plain.getsockname()[1], ca_file="ca.pem")
        benches.append(bench)
        line, _ = plain.accept()
        with line:
            heard = line.recv(4096)
            line.sendall(b"HTTP/1.0 400 Bad Request\r\n\r\n")
        until(lambda: bench.told.words == [False], SAID_WITHIN_S)
    assert heard[:1] == b"\x16"  # a TLS handshake, RFC 8446 section 5.1
    assert PASSWORD.encode() not in heard
    assert "it does not speak TLS as we must" in bench.told.last
