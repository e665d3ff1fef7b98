"""The bench file's channels become one group; raws become values on the model's grids."""

from __future__ import annotations

from dataclasses import replace

import pytest

from firmware_host.config.schema import (
    Bench,
    BenchChannel,
    ChannelKind,
    Port,
    PortKind,
    PressureReference,
)
from firmware_host.errors import InputError
from firmware_host.inputs.port_channels import BAROMETER_HOLDS_MS, channels_by_port
from firmware_host.model.channels import Channel, Role
from firmware_host.model.samples import Frame, Group, Reason
from hardware.readings import Fault
from tests.inputs.boards import CHANNELS, COUPLE_25C, KINDS, PORT, RAWS, SUPPLY, port_channels

GAUGE = BenchChannel(
    name="bag",
    port="board",
    index=0,
    kind=ChannelKind.ADC12,
    reference=PressureReference.GAUGE,
    station_pressure_hpa=1000.0,
    full_scale_pa=-100000.0,
)
BAROMETER = BenchChannel(
    name="barometer", port="board", index=1, kind=ChannelKind.ADC12, full_scale_pa=120000.0
)
HALF_DOWN = "2048"
"""Half the supply: (0.5 - 0.1) / 0.8 of -100000 Pa = 50000 Pa below the room."""
ROOM = "3072"
"""Three quarters of the supply: (0.75 - 0.1) / 0.8 of 120000 Pa = 97500 Pa."""


def test_a_port_is_a_group_in_the_bench_files_order() -> None:
    assert port_channels().group == Group(
        "board", (Channel("bag", Role.BAG), Channel("part1", Role.PART)), 0.5
    )


def test_raws_become_a_frame_on_the_grids() -> None:
    # 13333 / 26667 of the supply by hand: (0.4999813 - 0.1) / 0.8 * 100000 = 49997.66 Pa.
    frame = port_channels().frame(RAWS, 3, 12_345)
    assert frame == Frame(12.345, 3, (49997.7, 298.15), (None, None))


@pytest.mark.parametrize(
    ("raws", "reasons"),
    [
        (("-", "!3", str(SUPPLY)), (Reason.NOT_READ, Reason.DRIVER)),
        (("x", "00000000", str(SUPPLY)), (Reason.UNREADABLE, Reason.DEAD_BUS)),
        ((), (Reason.NOT_READ, Reason.NOT_READ)),
    ],
)
def test_a_missing_value_has_its_reason(raws: tuple[str, ...], reasons: tuple[Reason, ...]) -> None:
    assert port_channels().frame(raws, 0, 0) == Frame(0.0, 0, (None, None), reasons)


def test_every_fault_of_the_hardware_is_a_reason_of_the_model() -> None:
    assert {Reason(fault.value) for fault in Fault} == set(Reason)


def test_a_channel_that_the_board_calls_otherwise_is_unreadable_and_named() -> None:
    channels = port_channels()
    problems = channels.check(("adc16s", "adc16s", "adc16s"))
    assert len(problems) == 1
    assert problems[0].startswith("channel part1: index = 1: the bench file says tc31855")
    assert channels.frame(RAWS, 0, 0).reasons == (None, Reason.UNREADABLE)
    assert channels.reads_any
    assert channels.check(KINDS) == []
    assert channels.frame(RAWS, 0, 0).reasons == (None, None)


def test_a_board_of_another_language_is_not_read() -> None:
    channels = port_channels()
    channels.refuse_all()
    assert not channels.reads_any
    assert channels.frame(RAWS, 0, 0).values == (None, None)


def test_a_gauge_channel_without_a_barometer_takes_the_bench_files_room_pressure() -> None:
    assert port_channels(GAUGE).frame([HALF_DOWN], 0, 0).values == (50000.0,)


def test_a_gauge_channel_takes_the_barometer_of_its_own_line() -> None:
    channels = port_channels(GAUGE, BAROMETER)
    assert channels.frame([HALF_DOWN, ROOM], 0, 0).values == (47500.0, 97500.0)


def test_a_barometer_that_is_not_read_holds_for_an_hour() -> None:
    channels = port_channels(GAUGE, BAROMETER)
    channels.frame([HALF_DOWN, ROOM], 0, 0)
    assert channels.frame([HALF_DOWN, "-"], 0, BAROMETER_HOLDS_MS).values == (47500.0, None)
    assert channels.frame([HALF_DOWN, "-"], 0, BAROMETER_HOLDS_MS + 1).values == (50000.0, None)


def test_a_barometer_that_the_board_calls_otherwise_is_not_believed() -> None:
    channels = port_channels(GAUGE, BAROMETER)
    channels.check(("adc12", "adc16s"))
    assert channels.frame([HALF_DOWN, ROOM], 0, 0).values == (50000.0, None)


def test_ports_without_channels_are_left_out() -> None:
    bench = Bench(
        port=(PORT, Port(name="spare", kind=PortKind.BV1, device="/dev/spare")), channel=CHANNELS
    )
    assert [port.group.name for port in channels_by_port(bench)] == ["board"]


def test_channels_that_cannot_measure_are_all_named() -> None:
    element = BenchChannel(name="mould", port="board", index=1, kind=ChannelKind.RTD31865)
    bench = Bench(
        port=(PORT,),
        channel=(replace(element, zero_ohm=500.0), replace(element, name="shop", index=2)),
    )
    with pytest.raises(InputError, match=r"channel mould: zero_ohm = 500\.0 must be below"):
        channels_by_port(bench)


def test_a_couple_word_reads_as_its_data_sheet_says() -> None:
    (part,) = port_channels(replace(CHANNELS[1], index=0)).frame([COUPLE_25C], 0, 0).values
    assert part == pytest.approx(298.15, abs=0.01)
