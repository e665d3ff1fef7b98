"""Killed without a word in the middle of a job, and started again with the same command."""

from __future__ import annotations

import random
from collections.abc import Callable
from pathlib import Path

import pytest

from firmware_host.clock import SystemClock
from firmware_host.inputs.socket_client import send_acknowledge, send_shelve
from firmware_host.model.commands import AcknowledgeCommand, ShelveCommand
from firmware_host.model.events import AlarmState, GapSeen, Phase
from firmware_host.model.samples import Frame, Shelve, Unseen
from firmware_host.model.snapshot import AlarmView, Snapshot
from firmware_host.outputs.record_reader import open_record
from firmware_host.outputs.record_rows import StoredInput
from tests.system.room import Room
from tests.system.scenarios import leaking_job, whole_job
from tests.waiting import until

RATE = 300.0
CLOCK = SystemClock()
ORDER = tuple(Phase)


def kill_when(room: Room, holds: Callable[[Snapshot], bool]) -> tuple[Path, Snapshot]:
    """Start the daemon, kill it when this holds; give the folder and what was last seen."""
    daemon = room.watch("--clock-rate", RATE)
    folder = room.job_folder(daemon)
    seen: list[Snapshot] = []

    def ripe() -> bool:
        snapshot = room.look()
        seen.extend([snapshot] if snapshot is not None else [])
        return snapshot is not None and holds(snapshot)

    until(ripe, 60.0)
    daemon.kill()
    return folder, seen[-1]


def start_again(room: Room) -> tuple[Path, Snapshot]:
    """Start the same command; give the folder and the first sight after the gap."""
    daemon = room.watch("--clock-rate", RATE)
    folder = room.job_folder(daemon)
    until(lambda: (now := room.look()) is not None and now.view.unseen_s > 0.0, 20.0)
    first = room.see()
    until(lambda: room.see().stored_rows > first.stored_rows + 10, 20.0)
    assert daemon.stop() == 0, daemon.err
    return folder, first


def of_the_process(snapshot: Snapshot) -> tuple[AlarmView, ...]:
    """Alarms but those of channels: at this rate a breath of 33 ms is a silence of 10 s."""
    return tuple(alarm for alarm in snapshot.view.alarms if alarm.name != "sensor_fault")


def stored(folder: Path) -> list[StoredInput]:
    with open_record(folder) as record:
        return list(record.stored_inputs())


def frames(inputs: list[StoredInput]) -> list[Frame]:
    return [one.given for one in inputs if isinstance(one.given, Frame)]


def check_record(room: Room, folder: Path, before: list[StoredInput], acknowledged: int) -> None:
    """Nothing that was called stored is gone, nothing is there twice, and it replays."""
    after = stored(folder)
    assert len(frames(before)) >= acknowledged
    assert after[: len(before)] == before
    assert [one.n for one in after] == list(range(1, len(after) + 1))
    gap = after[len(before)].given
    assert isinstance(gap, Unseen)
    assert gap.start_s == max(one.given.time_s for one in before)
    times_s = [frame.time_s for frame in frames(after)]
    assert times_s == sorted(set(times_s))
    with open_record(folder) as record:
        assert sum(isinstance(event, GapSeen) for event in record.events()) == 1
        assert record.lost_inputs == 0
    replayed = room.command("replay", folder)
    assert replayed.returncode == 0, replayed.stdout
    assert room.command("verify", folder).returncode == 0


@pytest.mark.parametrize(
    "seed", [1, *(pytest.param(n, marks=pytest.mark.campaign) for n in (2, 3))]
)
def test_a_killed_daemon_goes_on_with_the_same_job_and_loses_nothing_stored(
    room: Room, seed: int
) -> None:
    room.simulate(whole_job(), rate=RATE, period_s=1.0)
    wait_s = random.Random(seed).uniform(0.3, 4.0)
    begun_s: list[float] = []

    def ripe(snapshot: Snapshot) -> bool:
        if snapshot.stored_rows and not begun_s:
            begun_s.append(CLOCK.monotonic_s())
        return bool(begun_s) and CLOCK.monotonic_s() - begun_s[0] > wait_s

    folder, last = kill_when(room, ripe)
    before = stored(folder)
    again, first = start_again(room)
    assert again == folder
    check_record(room, folder, before, last.stored_rows)
    assert ORDER.index(first.view.phase) >= ORDER.index(last.view.phase)
    assert of_the_process(first) == of_the_process(last) == ()
    assert first.view.mixed_s == last.view.mixed_s


def test_alarms_and_who_has_seen_them_come_back_after_a_kill(room: Room) -> None:
    room.simulate(leaking_job(), rate=RATE, period_s=1.0)

    def seen_by_somebody(snapshot: Snapshot) -> bool:
        for alarm in snapshot.view.alarms:
            if alarm.state is AlarmState.ACTIVE:
                assert send_acknowledge(room.socket, AcknowledgeCommand(id=alarm.id, by="bench")).ok
        return any(alarm.state is AlarmState.ACKNOWLEDGED for alarm in snapshot.view.alarms)

    folder, last = kill_when(room, seen_by_somebody)
    before = stored(folder)
    again, first = start_again(room)
    assert again == folder
    check_record(room, folder, before, last.stored_rows)
    assert "vacuum_lost" in {alarm.name for alarm in last.view.alarms}
    assert of_the_process(first) == of_the_process(last)
    assert first.view.phase is last.view.phase is Phase.WAITING


def test_a_shelf_comes_back_after_a_kill_and_ends_when_it_should(room: Room) -> None:
    room.simulate(leaking_job(), rate=RATE, period_s=1.0)
    asked: list[str] = []

    def put_aside(snapshot: Snapshot) -> bool:
        for alarm in snapshot.view.alarms:
            if alarm.name == "vacuum_lost" and alarm.state is AlarmState.ACTIVE and not asked:
                command = ShelveCommand(id=alarm.id, by="bench", for_s=3600.0, why="hose is off")
                assert send_shelve(room.socket, command).ok
                asked.append(alarm.id)
        return any(alarm.state is AlarmState.SHELVED for alarm in snapshot.view.alarms)

    folder, last = kill_when(room, put_aside)
    before = stored(folder)
    again, first = start_again(room)
    assert again == folder
    check_record(room, folder, before, last.stored_rows)
    (lay,) = (alarm for alarm in last.view.alarms if alarm.state is AlarmState.SHELVED)
    lies = [alarm for alarm in first.view.alarms if alarm.id == lay.id]
    (put,) = (one.given for one in before if isinstance(one.given, Shelve))
    assert lay.shelved_until_s == put.time_s + 3600.0
    # At this rate the gap may be longer than the shelf; then it was raised anew.
    assert lies == [lay] or first.view.time_s >= lay.shelved_until_s
