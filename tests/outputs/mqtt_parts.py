"""Alarms, folders and phones that the tests of the way to a phone share."""

from __future__ import annotations

import time
from pathlib import Path
from typing import Any

from firmware_host.clock import Clock, SystemClock
from firmware_host.config.schema import Bench, BenchTable, Mqtt
from firmware_host.model.events import AlarmChanged, AlarmState
from firmware_host.model.samples import Care, SelfCheck, Tick
from firmware_host.model.wire import JobOnWire, Topics
from firmware_host.outputs.mqtt_login import login_of
from firmware_host.outputs.mqtt_phone import Phone
from firmware_host.outputs.mqtt_start import phone_of
from firmware_host.outputs.record import RecordWriter
from firmware_host.outputs.record_reader import open_record
from firmware_host.outputs.status_socket import Asked
from tests.outputs.broker import BENCH, PASSWORD, Listener
from tests.outputs.record_parts import PATIENCE_S, VERSION, make_folder

TOPICS = Topics(bench=BENCH)


def alarm(
    number: int, state: AlarmState = AlarmState.ACTIVE, name: str = "vacuum_lost"
) -> AlarmChanged:
    """Make the transition of an alarm that is counted by `number`."""
    return AlarmChanged(
        time_s=float(number),
        id=f"{name}-{number}",
        name=name,
        channel=None,
        state=state,
        priority="high",
        raised_s=float(number),
        cleared_s=None,
        text="Bag above 150 mbar.",
        action="Listen along the tape.",
    )


def job_of(folder: Path) -> JobOnWire:
    with open_record(folder) as record:
        return JobOnWire.of(folder.name, record.meta.zero_wall)


def put_alarms(writer: RecordWriter, first: int, last: int) -> None:
    """Record one raised alarm per number."""
    for number in range(first, last + 1):
        writer.put(Tick(float(number)), [alarm(number)])


def ids_of(folder: Path, first: int, last: int) -> list[str]:
    """Ids under which these alarms go over the wire."""
    code = job_of(folder).code
    return [f"{code}.vacuum_lost-{number}.active" for number in range(first, last + 1)]


class Told:
    """What the core would hear from the phone's thread."""

    def __init__(self) -> None:
        self.checks: list[SelfCheck] = []
        self.asked: list[Asked] = []
        self.died: list[str] = []

    def offer(self, message: Asked | SelfCheck) -> bool:
        if isinstance(message, SelfCheck):
            assert message.what is Care.PHONE_PATH
            self.checks.append(message)
        else:
            self.asked.append(message)
        return True

    @property
    def words(self) -> list[bool]:
        return [check.ok for check in self.checks]

    @property
    def last(self) -> str:
        return self.checks[-1].text if self.checks else ""


def lay_out_password(place: Path) -> None:
    """Put the bench's password where its bench file says."""
    secret = place / "mqtt.secret"
    secret.write_text(f"{PASSWORD}\n")
    secret.chmod(0o600)


def make_phone(place: Path, folder: Path, clock: Clock, told: Told, **given: Any) -> Phone:  # noqa: ANN401 - keys of [mqtt]
    """Make the thread as the daemon does; the password lies in `place`."""
    lay_out_password(place)
    keys = {"host": "127.0.0.1", "user": "bench", "password_file": "mqtt.secret"} | given
    mqtt = Mqtt(**keys)
    bench = Bench(bench=BenchTable(name=BENCH), mqtt=mqtt)
    with open_record(folder) as record:
        meta = record.meta
    return phone_of(
        login_of(bench, mqtt, lambda path: place / path),
        folder,
        meta.zero_wall,
        clock,
        job_now_s=lambda: round(clock.monotonic_s() - meta.zero_mono_s, 3),
        offer=told.offer,
        died=lambda _, why: told.died.append(why),
    )


class TelledBench:
    """A job folder with its writer and its phone, put together as the daemon does it."""

    def __init__(self, place: Path, port: int, folder: Path | None = None, **given: Any) -> None:  # noqa: ANN401 - keys of [mqtt]
        clock = SystemClock()
        self.told = Told()
        self.folder = folder or make_folder(place / "jobs", clock)
        self.phone: Phone = make_phone(
            place, self.folder, clock, self.told, **({"port": port} | given)
        )
        self.writer = RecordWriter(
            self.folder, clock, version=VERSION, zero_mono_s=0.0, events_stored=self.phone.wake
        )
        self.phone.start()

    def raises(self, first: int, last: int) -> None:
        """Record one raised alarm per number."""
        put_alarms(self.writer, first, last)

    def close(self) -> None:
        """End as the daemon does."""
        self.writer.close(PATIENCE_S)
        self.phone.close()
        assert self.told.died == []


def alarm_ids(listener: Listener) -> list[str]:
    """Ids of alarms in the order in which they first came."""
    return list(dict.fromkeys(one.said["id"] for one in listener.topics("alarm/")))


def real_s() -> float:
    return time.monotonic()  # noqa: TID251 - a real broker runs on real time
