import json
import socket
import threading
from collections.abc import Callable
from pathlib import Path

import pytest

from firmware_host.clock import ManualClock
from simulations.marks import MarkSender, send_mark


def daemon(path: Path, answers: list[bytes]) -> tuple[Callable[[], None], list[dict[str, object]]]:
    """Listen at a path and answer one connection for each of `answers`; how to join, what came."""
    heard: list[dict[str, object]] = []
    server = socket.socket(socket.AF_UNIX, socket.SOCK_STREAM)
    server.bind(str(path))
    server.listen()

    def serve() -> None:
        for answer in answers:
            client, _ = server.accept()
            with client, client.makefile("rb") as lines:
                heard.append(json.loads(lines.readline()))
                client.sendall(answer)
        server.close()

    thread = threading.Thread(target=serve)
    thread.start()
    return lambda: thread.join(10.0), heard


def test_a_mark_goes_out_as_the_panel_would_send_it(tmp_path: Path) -> None:
    join, heard = daemon(tmp_path / "s", [b'{"ok": true, "text": "stored"}\n'])
    assert send_mark(tmp_path / "s", "pump_on", 1.5) == (True, "stored")
    join()
    assert heard == [{"mark": {"name": "pump_on", "ago_s": 1.5}}]


def test_a_refusal_is_told(tmp_path: Path) -> None:
    told: list[str] = []
    join, heard = daemon(tmp_path / "s", [b'{"ok": false, "text": "too old"}\n', b"what?\n"])
    sender = MarkSender(tmp_path / "s", ManualClock(), told.append)
    sender.say("mixed")
    sender.say("dosed")
    sender.close()
    join()
    assert [said["mark"] for said in heard] == [
        {"name": "mixed", "ago_s": 0.0},
        {"name": "dosed", "ago_s": 0.0},
    ]
    assert told == [
        "mark mixed refused: too old",
        "mark dosed refused: answer b'what?\\n' is no JSON",
    ]


def test_a_mark_that_finds_nobody_is_sent_later_with_its_true_age(tmp_path: Path) -> None:
    clock = ManualClock()
    sender = MarkSender(tmp_path / "s", clock, print)
    sender.say("mixed")
    clock.turn(3.0)
    join, heard = daemon(tmp_path / "s", [b'{"ok": true, "text": ""}\n'])
    join()
    sender.close()
    assert heard == [{"mark": {"name": "mixed", "ago_s": 3.0}}]


def test_a_daemon_that_is_not_there_is_told_at_the_end(tmp_path: Path) -> None:
    told: list[str] = []
    sender = MarkSender(tmp_path / "nobody", ManualClock(), told.append)
    sender.say("mixed")
    sender.close()
    assert told == [f"mark mixed not delivered: nobody at {tmp_path / 'nobody'}"]


def test_a_socket_that_closes_without_an_answer_is_an_error(tmp_path: Path) -> None:
    join, _ = daemon(tmp_path / "s", [b""])
    with pytest.raises(ConnectionError, match="closed without an answer"):
        send_mark(tmp_path / "s", "mixed", 0.0)
    join()
