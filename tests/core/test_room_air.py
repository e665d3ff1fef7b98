"""The room's pressure, read off a bag that nobody pumps yet."""

from __future__ import annotations

import pytest

from firmware_host.config.load import parse_job
from firmware_host.core.monitor import Monitor
from firmware_host.core.room_air import HIGHEST_ROOM_PA, LOWEST_ROOM_PA, RoomAir
from firmware_host.model.channels import channel_named
from firmware_host.model.samples import Frame, Group, Mark

JOB = '[job]\npart = "drone fairing"\n[resin]\nfamily = "polyester"\n'


def room_of(*blocks_pa: float | None) -> float | None:
    room = RoomAir()
    for bag_pa in blocks_pa:
        room.block(bag_pa, pumped=False)
    return room.pressure_pa


def test_the_highest_level_that_held_for_two_blocks_is_the_room() -> None:
    assert room_of(100_900.0, 100_920.0, 100_880.0) == 100_900.0


def test_a_spike_and_a_bag_that_falls_before_its_mark_do_not_move_it() -> None:
    assert room_of(100_900.0, 108_000.0, 100_900.0, 70_000.0, 8_000.0) == 100_900.0


@pytest.mark.parametrize("blocks_pa", [(), (100_900.0,), (100_900.0, None, 100_900.0)])
def test_one_block_alone_tells_nothing(blocks_pa: tuple[float | None, ...]) -> None:
    assert room_of(*blocks_pa) is None


@pytest.mark.parametrize(
    ("level_pa", "known"),
    [
        (LOWEST_ROOM_PA, True),
        (LOWEST_ROOM_PA - 1.0, False),
        (HIGHEST_ROOM_PA, True),
        (HIGHEST_ROOM_PA + 1.0, False),
    ],
)
def test_a_level_that_no_room_has_is_not_believed(level_pa: float, *, known: bool) -> None:
    assert (room_of(level_pa, level_pa) is not None) is known


def test_nothing_is_learnt_while_the_pump_runs() -> None:
    room = RoomAir()
    for _ in range(3):
        room.block(100_900.0, pumped=True)
    assert room.pressure_pa is None


def watched(*channels: str) -> Monitor:
    group = Group("board", tuple(map(channel_named, channels)), 1.0)
    return Monitor(parse_job(JOB, "job.toml"), (group,))


def run(monitor: Monitor, from_s: int, to_s: int, *values_pa: float) -> None:
    for time_s in range(from_s, to_s):
        monitor.step(Frame(float(time_s), 0, values_pa, (None,) * len(values_pa)))


def test_the_bag_tells_the_room_until_it_is_pumped() -> None:
    monitor = watched("bag")
    run(monitor, 0, 20, 99_800.0)
    monitor.step(Mark(19.5, "pump_on", 20.0))
    run(monitor, 21, 60, 5_000.0)
    assert monitor.view().room_pa == 99_800.0


def test_a_barometer_is_believed_before_the_bag() -> None:
    monitor = watched("bag", "barometer")
    run(monitor, 0, 20, 99_800.0, 101_000.0)
    assert monitor.view().room_pa == 101_000.0


def test_a_silent_barometer_leaves_what_the_bag_told() -> None:
    monitor = watched("bag", "barometer")
    run(monitor, 0, 20, 99_800.0, 101_000.0)
    monitor.step(Mark(20.0, "pump_on", 20.0))
    monitor.step(Mark(40.0, "heat_on", 40.0))
    assert monitor.view().room_pa == 99_800.0
