"""`bagvigil shelve`: the alarm that is meant, and nothing that is not."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest

from firmware_host.clock import SystemClock
from firmware_host.commands.shelve import the_one
from firmware_host.errors import InputError
from firmware_host.model.commands import Answer, ShelveCommand
from firmware_host.model.events import AlarmState
from firmware_host.model.snapshot import AlarmView
from firmware_host.outputs.status_socket import Asked, StatusSocket
from tests.commands.spoken import Say
from tests.dashboard.parts import LOST, snapshot

FIRST = replace(LOST, id="sensor_fault-part1-1", name="sensor_fault", channel="part1")
SECOND = replace(FIRST, id="sensor_fault-part2-3", channel="part2")
ALARMS = (LOST, FIRST, SECOND)


class Listener:
    """A daemon with three alarms: it keeps what it is told."""

    def __init__(self, path: Path) -> None:
        self.heard: list[object] = []
        self.socket = StatusSocket(path, SystemClock(), self._hear, lambda _name, _why: None)
        self.socket.publish(snapshot(alarms=ALARMS))
        self.socket.start()

    def _hear(self, asked: Asked) -> bool:
        self.heard.append(asked.command)
        self.socket.answer(asked.token, Answer(ok=True, text="sensor_fault is shelved."))
        return True


@pytest.fixture
def daemon(here: Path) -> Iterator[Listener]:
    listener = Listener(here / "bagvigil.sock")
    yield listener
    listener.socket.close()


def test_an_alarm_is_put_aside_by_its_channel(daemon: Listener, say: Say) -> None:
    spoken = say("shelve", "part2", "--for", "30m", "--reason", "plug is being mended")
    assert (spoken.code, spoken.out) == (0, "sensor_fault is shelved.\n")
    assert daemon.heard == [
        ShelveCommand(
            id="sensor_fault-part2-3",
            by="command line",
            for_s=1800.0,
            why="plug is being mended",
        )
    ]


@pytest.mark.parametrize("span", ["59s", "61m", "0", "2h"])
def test_a_shelf_is_neither_too_short_nor_too_long(say: Say, span: str) -> None:
    spoken = say("shelve", "part2", "--for", span, "--reason", "x")
    assert spoken.code == 2
    assert f"--for {span} must be at least 1m and at most 60m." in spoken.err


def test_a_shelf_has_its_reason(say: Say) -> None:
    assert "--reason is empty" in say("shelve", "part2", "--reason", " ").err


@pytest.mark.parametrize(
    ("named", "meant"),
    [
        ("vacuum_lost", LOST),
        ("vacuum lost", LOST),
        ("vacuum_lost-1", LOST),
        ("sensor_fault/part1", FIRST),
        ("part1", FIRST),
    ],
)
def test_the_alarm_is_found_as_people_name_it(named: str, meant: AlarmView) -> None:
    assert the_one(ALARMS, named) is meant


@pytest.mark.parametrize(
    ("alarms", "named", "words"),
    [
        (ALARMS, "sensor_fault", "Name one of sensor_fault/part1, sensor_fault/part2"),
        (ALARMS, "bag", "There are sensor_fault/part1, sensor_fault/part2, vacuum_lost"),
        ((), "bag", "There is none"),
        ((replace(LOST, state=AlarmState.SHELVED),), "vacuum_lost", "There is none"),
    ],
)
def test_what_is_not_one_alarm_is_refused_by_name(
    alarms: tuple[AlarmView, ...], named: str, words: str
) -> None:
    with pytest.raises(InputError, match=words):
        the_one(alarms, named)
