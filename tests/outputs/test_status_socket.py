"""The server over a real socket: many clients, slow ones, bad ones, and what they say."""

from __future__ import annotations

import socket
import threading
from collections.abc import Iterator
from contextlib import ExitStack
from dataclasses import replace
from pathlib import Path

import msgspec
import pytest

from firmware_host.clock import ManualClock
from firmware_host.errors import BusyError
from firmware_host.inputs.socket_client import (
    ask_snapshot,
    send_acknowledge,
    send_mark,
    stream,
)
from firmware_host.model.commands import AcknowledgeCommand, Answer, MarkCommand, TrendAsk
from firmware_host.model.snapshot import SCHEMA, Snapshot
from firmware_host.model.trend import Trend
from firmware_host.outputs.status_socket import MOST_CLIENTS, STUCK_S, Asked, StatusSocket
from tests.views import VIEW
from tests.waiting import until

SNAPSHOT = Snapshot(
    schema=SCHEMA,
    version="0.1.0",
    bench="north-bench",
    part="kayak hatch cover",
    folder="/tmp/jobs/1",
    wall="2026-03-01T08:00:00+00:00",
    zero_wall="2026-03-01T08:00:00+00:00",
    clock_rate=1.0,
    stored_rows=0,
    stored_age_s=None,
    links=(),
    view=VIEW,
)


class Bench:
    """A server and the core behind it."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self.clock = ManualClock()
        self.asked: list[Asked] = []
        self.deaths: list[tuple[str, str]] = []
        self.has_room = True
        self.fails = False
        self.server = StatusSocket(path, self.clock, self.take, self.died)
        self.server.start()
        self.connections = ExitStack()

    def take(self, asked: Asked) -> bool:
        if self.fails:
            raise RuntimeError(f"no room for {asked.token}")
        self.asked.append(asked)
        return self.has_room

    def died(self, thread: str, why: str) -> None:
        self.deaths.append((thread, why))

    def publish(self, rows: int) -> None:
        self.server.publish(replace(SNAPSHOT, stored_rows=rows))

    def connect(self) -> socket.socket:
        client = self.connections.enter_context(socket.socket(socket.AF_UNIX))
        client.settimeout(10.0)
        client.connect(str(self.path))
        return client


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[Bench]:
    made = Bench(tmp_path / "bench.sock")
    yield made
    made.connections.close()
    made.server.close()
    assert made.deaths == []


def read_all(client: socket.socket) -> bytes:
    heard = b""
    while data := client.recv(65536):
        heard += data
    return heard


def test_the_newest_snapshot_is_given_to_who_asks(bench: Bench) -> None:
    bench.publish(1)
    bench.publish(2)
    assert ask_snapshot(bench.path) == replace(SNAPSHOT, stored_rows=2)


def test_who_asks_before_the_first_snapshot_waits_for_it(bench: Bench) -> None:
    with bench.connect() as client:
        client.sendall(b'{"ask":"snapshot"}\n')
        bench.publish(7)
        assert msgspec.json.decode(client.recv(65536), type=Snapshot).stored_rows == 7


def test_a_stream_gives_each_new_snapshot(bench: Bench) -> None:
    bench.publish(1)
    snapshots = stream(bench.path)
    heard = [next(snapshots).stored_rows]
    for rows in (2, 3):
        bench.publish(rows)
        heard.append(next(snapshots).stored_rows)
    assert heard == [1, 2, 3]


def test_a_mark_goes_to_the_core_and_its_answer_comes_back(bench: Bench) -> None:
    answers: list[Answer] = []
    mark = MarkCommand(name="pump_on", ago_s=120.0, note="big pump")
    sender = threading.Thread(
        target=lambda: answers.append(send_mark(bench.path, mark)), name="sender"
    )
    sender.start()
    until(lambda: bench.asked)
    assert bench.asked[0].command == mark
    bench.server.answer(bench.asked[0].token, Answer(ok=True, text="stored"))
    sender.join()
    assert answers == [Answer(ok=True, text="stored")]


def test_the_trend_goes_back_to_who_asked_for_it(bench: Bench) -> None:
    trend = Trend(step_s=10.0, time_s=(10.0,), bag_pa=(None,), laminate_k=(295.0,), shop_k=(None,))
    with bench.connect() as client:
        client.sendall(b'{"ask":"trend"}\n')
        client.shutdown(socket.SHUT_WR)
        until(lambda: bench.asked)
        assert bench.asked[0].command == TrendAsk()
        bench.server.answer(bench.asked[0].token, trend)
        assert msgspec.json.decode(read_all(client), type=Trend) == trend


def test_a_full_inbox_is_said_at_once(bench: Bench) -> None:
    bench.has_room = False
    seen = AcknowledgeCommand(id="vacuum_lost-1", by="panel")
    assert send_acknowledge(bench.path, seen) == Answer(
        ok=False, text="the bench is too busy; say it again"
    )


def test_nonsense_gets_one_line_and_the_door(bench: Bench) -> None:
    with bench.connect() as client:
        client.sendall(b"GET / HTTP/1.1\n")
        answer = msgspec.json.decode(read_all(client), type=Answer)
    assert not answer.ok
    assert answer.text.startswith("not a request: ")


def test_an_endless_line_gets_one_line_and_the_door(bench: Bench) -> None:
    with bench.connect() as client:
        client.sendall(b"x" * 4097)
        assert read_all(client) == b'{"ok":false,"text":"a request is at most 4096 bytes long."}\n'


def test_the_answer_to_a_client_that_left_is_dropped(bench: Bench) -> None:
    with bench.connect() as client:
        client.sendall(b'{"mark":{"name":"mixed"}}\n')
        until(lambda: bench.asked)
    bench.server.answer(bench.asked[0].token, Answer(ok=True, text="stored"))
    bench.publish(5)
    assert ask_snapshot(bench.path).stored_rows == 5


def test_a_client_that_closed_its_writing_half_still_gets_its_answer(bench: Bench) -> None:
    with bench.connect() as client:
        client.sendall(b'{"mark":{"name":"mixed"}}\n')
        client.shutdown(socket.SHUT_WR)
        until(lambda: bench.asked)
        bench.server.answer(bench.asked[0].token, Answer(ok=True, text="stored"))
        assert read_all(client) == b'{"ok":true,"text":"stored"}\n'


def test_a_client_that_reads_nothing_is_dropped_and_the_others_are_served(bench: Bench) -> None:
    with bench.connect() as deaf:
        deaf.sendall(b'{"ask":"stream"}\n')
        for rows in range(200):
            bench.publish(rows)
            assert ask_snapshot(bench.path).stored_rows == rows
        bench.clock.turn(STUCK_S + 0.1)
        until(lambda: not bench.server.clients)
        heard = read_all(deaf).count(b"\n")
    assert heard < 50  # it skipped; what it had not read did not pile up


def test_one_client_too_many_is_told_and_the_rest_stay(bench: Bench) -> None:
    clients = [bench.connect() for _ in range(MOST_CLIENTS)]
    until(lambda: bench.server.clients == MOST_CLIENTS)
    with bench.connect() as extra:
        assert b"32 clients are served already" in read_all(extra)
    bench.publish(3)
    clients[0].sendall(b'{"ask":"snapshot"}\n')
    assert msgspec.json.decode(clients[0].recv(65536), type=Snapshot).stored_rows == 3
    for client in clients:
        client.close()
    until(lambda: bench.server.clients == 0)


def test_nobody_listening_is_busy_with_the_next_step(tmp_path: Path) -> None:
    with pytest.raises(BusyError, match=r"no bagvigil answers at .*Start bagvigil watch"):
        ask_snapshot(tmp_path / "absent.sock")


def test_a_daemon_that_does_not_answer_is_busy(bench: Bench) -> None:
    with pytest.raises(BusyError, match=r"did not answer in 0\.05 s"):
        ask_snapshot(bench.path, timeout_s=0.05)


def test_a_daemon_that_goes_while_asked_is_busy(tmp_path: Path) -> None:
    bench = Bench(tmp_path / "bench.sock")
    bench.publish(1)
    snapshots = stream(bench.path)
    next(snapshots)
    bench.server.close()
    with pytest.raises(BusyError, match="went away"):
        next(snapshots)
    assert not bench.path.exists()


def test_an_answer_given_just_before_the_end_still_goes_out(tmp_path: Path) -> None:
    bench = Bench(tmp_path / "bench.sock")
    with bench.connect() as client:
        client.sendall(b'{"mark":{"name":"mixed"}}\n')
        until(lambda: bench.asked)
        bench.server.answer(bench.asked[0].token, Answer(ok=True, text="stored"))
        bench.server.close()
        assert read_all(client) == b'{"ok":true,"text":"stored"}\n'


def test_a_thread_that_dies_says_so(tmp_path: Path) -> None:
    bench = Bench(tmp_path / "bench.sock")
    bench.fails = True
    with bench.connect() as client:
        client.sendall(b'{"mark":{"name":"mixed"}}\n')
        assert read_all(client) == b""
    until(lambda: bench.deaths)
    assert bench.deaths == [("status-socket", "RuntimeError('no room for 0')")]
    bench.server.close()
