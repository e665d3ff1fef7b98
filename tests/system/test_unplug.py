"""The cable is pulled and put back, in real time: the contract's own seconds are measured."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from contextlib import ExitStack, closing
from pathlib import Path

import pytest

from firmware_host.errors import BusyError
from firmware_host.inputs.socket_client import stream
from firmware_host.model.events import AlarmChanged, AlarmState
from firmware_host.model.samples import Frame
from firmware_host.model.snapshot import Snapshot
from firmware_host.outputs.record_reader import open_record
from tests.system.room import Child, Room
from tests.system.scenarios import event, quick_bag
from tests.waiting import until

PERIOD_S = 0.2
BLANK_S = max(3.0 * PERIOD_S, 1.0)
FAULT_S = max(10.0 * PERIOD_S, 5.0) + PERIOD_S
TURN_S = 0.25
"""Real time between snapshots, and between looks whether the core must be ticked."""
GRID_S = 1.0
"""Silence is judged on whole seconds of the job's time line."""
OUT_S = 5.9
"""How long the cable is out: just long enough for a fault."""
CHANNELS = {"bag", "pump", "part1", "part2", "mould", "shop", "cup"}


def watch_until(room: Room, holds: Callable[[Snapshot], bool], longest_s: float) -> list[Snapshot]:
    """Take the daemon's snapshots as they come until this holds."""
    seen: list[Snapshot] = []
    for snapshot in stream(room.socket):
        seen.append(snapshot)
        if holds(snapshot):
            return seen
        assert snapshot.view.time_s < longest_s, snapshot
    raise BusyError("the daemon went away")


def through(room: Room, pulled_s: float, *before: str) -> tuple[list[Snapshot], Path]:
    """Run a bench whose cable is out from `pulled_s` on, and watch it until it is well again."""
    cable = event(pulled_s, "unplug") + event(pulled_s + OUT_S, "replug")
    room.simulate(quick_bag(40.0, *before, cable), period_s=PERIOD_S)
    daemon = room.watch()
    folder = room.job_folder(daemon)
    until(lambda: room.look() is not None)
    seen = watch_until(room, has_faults, 20.0)
    seen += watch_until(room, lambda snapshot: not has_faults(snapshot), 30.0)
    assert daemon.stop() == 0, daemon.err
    assert_went_quietly(daemon)
    return seen, folder


def has_faults(snapshot: Snapshot) -> bool:
    return any(
        alarm.name == "sensor_fault" and alarm.state is AlarmState.ACTIVE
        for alarm in snapshot.view.alarms
    )


def assert_went_quietly(daemon: Child) -> None:
    assert "Traceback" not in daemon.err
    assert "ERROR" not in daemon.err


def last_frame_before_gap_s(folder: Path) -> tuple[float, float]:
    """Times of the frames on both sides of the longest silence."""
    with open_record(folder) as record:
        times_s = [given.time_s for given in record.inputs() if isinstance(given, Frame)]
    _, left_s, right_s = max((b - a, a, b) for a, b in zip(times_s, times_s[1:], strict=False))
    return left_s, right_s


def alarms(folder: Path, name: str) -> list[AlarmChanged]:
    with open_record(folder) as record:
        return [
            said for said in record.events() if isinstance(said, AlarmChanged) and said.name == name
        ]


def check_times(seen: Sequence[Snapshot], folder: Path) -> None:
    silent_s, back_s = last_frame_before_gap_s(folder)
    assert back_s - silent_s > OUT_S - PERIOD_S
    for snapshot in seen:
        now_s = snapshot.view.time_s
        if silent_s + BLANK_S < now_s < back_s:
            assert {ch.value for ch in snapshot.view.channels} == {None}, now_s
    views = [snapshot.view for snapshot in seen if snapshot.view.time_s > silent_s]
    blank_s = next(v.time_s for v in views if all(ch.value is None for ch in v.channels))
    assert blank_s <= silent_s + BLANK_S + 2.0 * TURN_S
    raised = [a for a in alarms(folder, "sensor_fault") if a.state is AlarmState.ACTIVE]
    cleared = [a for a in alarms(folder, "sensor_fault") if a.state is AlarmState.RETURNED]
    assert {alarm.channel for alarm in raised} == {alarm.channel for alarm in cleared} == CHANNELS
    for alarm in raised:
        assert FAULT_S - PERIOD_S < alarm.time_s - silent_s <= FAULT_S + GRID_S, alarm
    assert all(alarm.time_s > back_s for alarm in cleared)


LOST = (event(2.0, "pump_off"), event(2.0, "release"))
Seen = tuple[list[Snapshot], Path]


@pytest.fixture(scope="module")
def benches(tmp_path_factory: pytest.TempPathFactory) -> Iterator[dict[str, Future[Seen]]]:
    """A sound bag and a lost one, watched at the same time: both mostly wait."""
    with ExitStack() as held:
        sound, lost = (
            held.enter_context(closing(Room(tmp_path_factory.mktemp(name))))
            for name in ("sound", "lost")
        )
        both = held.enter_context(ThreadPoolExecutor())
        yield {
            "sound": both.submit(through, sound, 2.5),
            "lost": both.submit(through, lost, 4.5, *LOST),
        }


def test_a_pulled_cable_blanks_then_raises_then_heals_and_is_no_loss_of_vacuum(
    benches: dict[str, Future[Seen]],
) -> None:
    seen, folder = benches["sound"].result()
    check_times(seen, folder)
    assert alarms(folder, "vacuum_lost") == []


def test_a_pulled_cable_does_not_clear_a_loss_of_vacuum(benches: dict[str, Future[Seen]]) -> None:
    seen, folder = benches["lost"].result()
    check_times(seen, folder)
    (only,) = alarms(folder, "vacuum_lost")
    assert only.state is AlarmState.ACTIVE
    assert "vacuum_lost" in {alarm.name for alarm in seen[-1].view.alarms}
