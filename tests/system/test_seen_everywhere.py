"""What goes wrong on the bench is seen on the panel, heard of on a phone and kept in the report.

From the simulated board's bytes through a pty: the daemon, the broker, the panel and the report are
the real programs, each a process of its own.
"""

from __future__ import annotations

import html
import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest

from tests.outputs.broker import Broker, Listener
from tests.outputs.mqtt_parts import TOPICS, lay_out_password
from tests.system.room import JOB, Room
from tests.system.scenarios import HEAD, event, leaking_job, mark, step
from tests.waiting import until

RATE = 400.0
PERIOD_S = 1.0
SEEN_WITHIN_S = 30.0
COLD_SHOP_C = 11.0
MQTT = """\
[mqtt]
host = "127.0.0.1"
port = {port}
user = "bench"
password_file = "mqtt.secret"
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Mishap:
    """Something that goes wrong, and the words under which a person finds it."""

    alarm: str
    scenario: str
    latest_gel_min: float
    because: str
    """What the alarm's text says of its cause."""
    do: str

    @property
    def words(self) -> str:
        return self.alarm.replace("_", " ")


def cold_job() -> str:
    """A shop so cold that the resin is far from its gel when the job's latest time comes."""
    text = HEAD.format(name="cold-job", seed=4714, length_s=20000.0)
    return "".join(
        [
            re.sub(r"temperature_c = .*", f"temperature_c = {COLD_SHOP_C}", text),
            step(60.0, "mixed", "mix"),
            step(300.0, "bag_closed"),
            step(320.0, "pump_on"),
            event(600.0, "valve_shut"),
            mark(603.0, "valve_shut"),
            event(900.0, "valve_open"),
            mark(903.0, "valve_open"),
        ]
    )


MISHAPS = [
    Mishap(
        alarm="vacuum_lost",
        scenario=leaking_job(),
        latest_gel_min=120.0,
        because="Bag above",
        do="Listen along the tape",
    ),
    Mishap(
        alarm="exotherm_late",
        scenario=cold_job(),
        latest_gel_min=40.0,
        because="No gel seen 40 min after mixing",
        do="Never add initiator to a wet lay-up.",
    ),
]


@pytest.fixture
def broker(tmp_path: Path) -> Iterator[Broker]:
    with Broker(tmp_path / "broker") as made:
        yield made


@pytest.mark.parametrize("mishap", MISHAPS, ids=lambda mishap: mishap.alarm)
def test_a_mishap_is_seen_on_the_panel_on_the_broker_and_in_the_report(
    room: Room, broker: Broker, mishap: Mishap
) -> None:
    with Listener(broker.port) as listener:
        folder = watch(room, broker, mishap)
        until(lambda: listener.states_of(mishap.alarm), SEEN_WITHIN_S)
        panel = room.command("panel", "--socket", room.socket, "--once")
        until(lambda: notices(listener, mishap))
        assert_heard(listener, mishap)
    with Listener(broker.port, "latecomer") as late:
        until(lambda: late.states_of(mishap.alarm))
        assert late.states_of(mishap.alarm) == ["active"]
    assert_read(panel.stdout, mishap)
    assert panel.returncode == 0, panel.stderr
    report = room.command("report", folder)
    assert report.returncode == 0, report.stderr
    assert_read(text_of(folder / "report.html"), mishap)


def watch(room: Room, broker: Broker, mishap: Mishap) -> Path:
    """Start the board and the daemon; give the job folder."""
    job = JOB.replace("latest_gel_min = 120.0", f"latest_gel_min = {mishap.latest_gel_min}")
    room.simulate(mishap.scenario, rate=RATE, period_s=PERIOD_S)
    room.job.write_text(job, encoding="utf-8")
    lay_out_password(room.folder)
    bench = room.bench.read_text(encoding="utf-8").replace("simulated-bench", TOPICS.bench)
    room.bench.write_text(bench + MQTT.format(port=broker.port), encoding="utf-8")
    return room.job_folder(room.watch("--clock-rate", RATE))


def notices(listener: Listener, mishap: Mishap) -> list[str]:
    """Texts of the phone's lines about the mishap."""
    heard = (one.said for one in listener.topics("notice"))
    return [said["text"] for said in heard if said["title"] == mishap.words]


def assert_heard(listener: Listener, mishap: Mishap) -> None:
    """The alarm's own topic holds it, and one line rang."""
    (told,) = {one.payload: one.said for one in listener.topics(f"alarm/{mishap.alarm}")}.values()
    assert (told["state"], told["until"]) == ("active", None)
    assert mishap.because in told["text"]
    (notice,) = notices(listener, mishap)
    assert mishap.because in notice
    assert mishap.do in notice


def assert_read(text: str, mishap: Mishap) -> None:
    """A person who reads this finds what is wrong, why, and what to do."""
    flat = " ".join(text.split())
    assert mishap.words in flat
    assert mishap.because in flat
    assert mishap.do in flat


def text_of(page: Path) -> str:
    """What a person reads on the page: no tags, no drawings."""
    source = page.read_text(encoding="utf-8")
    body = re.sub(r"<(style|svg|title)\b.*?</\1>", " ", source, flags=re.DOTALL)
    return html.unescape(re.sub(r"<[^>]+>", " ", body))
