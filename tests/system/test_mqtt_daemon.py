"""The daemon as a process, with a board, a real broker and somebody who listens."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from firmware_host.model.events import AlarmState
from tests.inputs.boards import hello
from tests.inputs.cable import PERIOD_MS, Cable
from tests.outputs.broker import Broker, Listener
from tests.outputs.mqtt_parts import TOPICS, lay_out_password, real_s
from tests.system.room import Child, Room
from tests.waiting import until

ROOT = Path(__file__).parents[2]
PATIENCE_S = 20.0
KNOWN_WITHIN_S = 10.0
MQTT = """\
[mqtt]
host = "127.0.0.1"
port = {port}
user = "bench"
password_file = "mqtt.secret"
accept_acknowledgements = true
"""


@pytest.fixture
def broker(tmp_path: Path) -> Iterator[Broker]:
    with Broker(tmp_path / "broker") as made:
        yield made


class Board(Cable):
    """A cable with a board at its end that samples in real time, whenever it is asked."""

    sampled_s = 0.0

    def sample(self) -> None:
        if real_s() - self.sampled_s >= PERIOD_MS / 1000.0:
            self.sampled_s = real_s()
            self.say()


@pytest.fixture
def board(room: Room) -> Iterator[Board]:
    made = Board(room.device)
    made.plug()
    yield made
    made.close()


def write_bench(room: Room, port: int) -> None:
    """Write a bench that knows its broker."""
    lay_out_password(room.folder)
    room.write_bench()
    text = room.bench.read_text("utf-8").replace("cold-bench", TOPICS.bench)
    room.bench.write_text(text + MQTT.format(port=port), encoding="utf-8")


def watch(room: Room, board: Board) -> Child:
    """Start the daemon and let the board greet it."""
    daemon = room.watch()
    room.job_folder(daemon)
    board.say(hello())

    def has_stored() -> bool:
        board.sample()
        now = room.look()
        return now is not None and now.stored_rows > 2

    until(has_stored, PATIENCE_S)
    return daemon


def test_a_job_is_told_through_a_fault_a_kill_and_an_acknowledgement(
    room: Room, board: Board, broker: Broker
) -> None:
    write_bench(room, broker.port)
    with Listener(broker.port) as listener:
        daemon = watch(room, board)
        phase = room.see().view.phase.value
        # The state of a moment earlier may still be on its way.
        until(lambda: [one.said["phase"] for one in listener.topics("state")][-1:] == [phase])
        state = listener.topics("state")[-1].said
        assert (state["schema"], state["gel_s_left"]) == (1, None)
        board.unplug()
        until(lambda: listener.states_of("sensor_fault/bag") == ["active"], PATIENCE_S)
        daemon.kill()
        until(lambda: listener.topics("presence")[-1].said["online"] is False)

        board.plug()
        again = watch(room, board)
        until(lambda: listener.topics("presence")[-1].said["online"] is True)
        raised = listener.topics("alarm/sensor_fault/bag")[0].said
        assert raised["job"] == state["job"]
        ack = f'{{"id":"{raised["id"]}","by":"phone","time":"2026-03-01T08:00:00Z"}}'
        listener.say(TOPICS.ack, ack.encode())
        until(lambda: is_settled(board, listener), PATIENCE_S)
        assert again.stop() == 0, again.err
        until(lambda: listener.topics("presence")[-1].said["online"] is False)
        sent = b"".join(one.payload for one in listener.heard).lower()
    assert b"fairing" not in sent


def is_settled(board: Board, listener: Listener) -> bool:
    """Let the board speak; tell whether the alarm is over and was seen."""
    board.sample()
    return listener.states_of("sensor_fault/bag")[-1] == "clear"


def test_a_broker_that_is_not_there_is_an_alarm_on_the_bench_and_in_its_record(
    room: Room, board: Board, tmp_path: Path
) -> None:
    write_bench(room, Broker(tmp_path / "broker").port)
    daemon = watch(room, board)

    def is_missed() -> bool:
        board.sample()
        return any(alarm.name == "phone_path_down" for alarm in room.see().view.alarms)

    until(is_missed, 10.0)
    (alarm,) = [one for one in room.see().view.alarms if one.name == "phone_path_down"]
    assert alarm.state is AlarmState.ACTIVE
    assert "nothing listens there; start the broker" in alarm.text
    assert daemon.stop() == 0, daemon.err


def test_a_broker_that_freezes_in_the_middle_of_an_alarm_is_known_in_ten_seconds_and_told_later(
    room: Room, board: Board, broker: Broker
) -> None:
    write_bench(room, broker.port)
    with Listener(broker.port) as listener:
        daemon = watch(room, board)
        until(lambda: listener.topics("state"))
        broker.freeze()
        board.unplug()

        def states() -> dict[str, AlarmState]:
            return {alarm.name: alarm.state for alarm in room.see().view.alarms}

        until(lambda: states().get("phone_path_down") is AlarmState.ACTIVE, KNOWN_WITHIN_S)
        until(lambda: states().get("sensor_fault") is AlarmState.ACTIVE, PATIENCE_S)
        broker.thaw()
        until(lambda: states()["phone_path_down"] is AlarmState.RETURNED, PATIENCE_S)
        until(lambda: listener.states_of("sensor_fault/bag") == ["active"], PATIENCE_S)
        until(lambda: listener.states_of("phone_path_down") == ["active", "returned"], PATIENCE_S)
    assert daemon.stop() == 0, daemon.err


def test_a_password_that_others_can_read_ends_the_start_before_a_job_begins(room: Room) -> None:
    write_bench(room, 1883)
    (room.folder / "mqtt.secret").chmod(0o644)
    daemon = room.watch()
    assert daemon.wait() == 2
    assert "mode 0644" in daemon.err
    assert "chmod 600" in daemon.err
    assert "Traceback" not in daemon.err
    assert not (room.folder / "jobs").exists()


def test_a_bench_without_a_broker_does_not_load_the_client(room: Room) -> None:
    room.write_bench(ports=False)
    modules = room.folder / "modules.txt"
    daemon = room.start(
        "tests.system.listing", modules, "watch", "--bench", room.bench, "--job", room.job,
        environment={"PYTHONPATH": str(ROOT)},
    )  # fmt: skip
    room.job_folder(daemon)
    until(lambda: room.look() is not None)
    assert daemon.stop() == 0, daemon.err
    loaded = {name.partition(".")[0] for name in modules.read_text("utf-8").split()}
    assert loaded & {"paho", "ssl"} == set()
