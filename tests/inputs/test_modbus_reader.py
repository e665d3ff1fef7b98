"""Modbus against a gauge on a pseudo terminal: right answers, and every misbehaviour."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from firmware_host.config.schema import BenchChannel, ChannelKind, Port, PortKind
from firmware_host.config.source_tables import Part, Source
from firmware_host.errors import BusyError, InputError, LinkLostError
from firmware_host.inputs.modbus_reader import SKIPPED_ROUNDS, ModbusReader
from simulations.modbus import answer, framed
from tests.inputs import gauge as manners
from tests.inputs.gauge import UNIT, Gauge, Manner

FLOAT_ONE = {8: 0x3F80, 9: 0x0000}
REGISTERS = {**FLOAT_ONE, 107: 0x0292, 108: 0x000A}
SOURCES = (
    Source(port="rs485", index=0, part=Part.HOLDING, unit=UNIT, register=107),
    Source(port="rs485", index=1, part=Part.INPUT, unit=UNIT, register=8),
)
CHANNELS = (
    BenchChannel(name="pump", port="rs485", index=0, kind=ChannelKind.U16, unit="mbar"),
    BenchChannel(name="bag", port="rs485", index=1, kind=ChannelKind.F32, unit="mbar"),
)
GOOD = ["0292", "3F800000"]


def port(device: Path) -> Port:
    return Port(name="rs485", kind=PortKind.MODBUS, device=str(device), baud=19200)


@pytest.fixture
def gauge(tmp_path: Path) -> Iterator[Gauge]:
    made = Gauge(tmp_path / "rs485", dict(REGISTERS))
    yield made
    made.close()


@pytest.fixture
def reader(gauge: Gauge, tmp_path: Path) -> Iterator[ModbusReader]:
    assert gauge.heard == []
    made = ModbusReader(port(tmp_path / "rs485"), SOURCES, CHANNELS)
    yield made
    made.close()


def test_registers_are_asked_for_byte_for_byte(gauge: Gauge, reader: ModbusReader) -> None:
    assert reader.read() == GOOD
    assert gauge.heard == [
        framed(bytes.fromhex("11 03 00 6B 00 01")),
        framed(bytes.fromhex("11 04 00 08 00 02")),
    ]


@pytest.mark.parametrize(
    ("body", "check"),
    [
        ("11 03 00 6B 00 03", "76 87"),  # the protocol's worked example: registers 108 to 110
        ("11 04 00 08 00 01", "B2 98"),  # input register 9
        ("11 04 02 00 0A", "F8 F4"),
        ("02 07", "41 12"),  # the serial line guide's example, from memory
        ("01 84 02", "C2 C1"),
        ("11 83 02", "C1 34"),
        ("01 04 04 3F 80 00 00", "F6 78"),
    ],
)
def test_the_gauges_frames_are_those_of_the_standard(body: str, check: str) -> None:
    assert framed(bytes.fromhex(body)) == bytes.fromhex(f"{body} {check}")


def test_the_standards_request_is_what_the_library_sends(tmp_path: Path) -> None:
    gauge = Gauge(tmp_path / "rs485", {8: 0x000A})
    source = Source(port="rs485", index=0, part=Part.INPUT, unit=UNIT, register=8)
    reader = ModbusReader(port(tmp_path / "rs485"), (source,), CHANNELS[:1])
    try:
        assert reader.read() == ["000A"]
        assert gauge.heard == [bytes.fromhex("11 04 00 08 00 01 B2 98")]
        right = answer(gauge.heard[0], UNIT, lambda number: b"\x00\x0a" if number == 8 else None)
        assert right == bytes.fromhex("11 04 02 00 0A F8 F4")
    finally:
        reader.close()
        gauge.close()


@pytest.mark.parametrize(
    ("manner", "raws"),
    [
        (manners.silent, ["!1", "!1"]),
        (manners.damaged, ["!2", "!2"]),
        (manners.short, ["!2", "!2"]),
        (manners.another, ["!2", "!2"]),
        (manners.late, ["!1", "!1"]),
        (manners.slow, GOOD),
    ],
)
def test_each_misbehaviour_is_told_apart_and_gives_no_number(
    gauge: Gauge, reader: ModbusReader, manner: Manner, raws: list[str]
) -> None:
    gauge.manner = manner
    assert reader.read() == raws


def test_a_register_that_is_not_there_is_a_refusal(gauge: Gauge, reader: ModbusReader) -> None:
    del gauge.registers[107]
    assert reader.read() == ["!3", "3F800000"]


def test_a_late_answer_never_passes_for_the_next_register(tmp_path: Path) -> None:
    # Both ask for one register with one function: only time tells the answers apart.
    gauge = Gauge(tmp_path / "rs485", {1: 0x1111, 2: 0x2222})
    sources = [
        Source(port="rs485", index=n, part=Part.HOLDING, unit=UNIT, register=n + 1)
        for n in range(2)
    ]
    reader = ModbusReader(port(tmp_path / "rs485"), sources, ())
    try:
        gauge.manner = lambda request, right: (
            manners.late(request, right) if request[3] == 1 else manners.well(request, right)
        )
        rounds = [reader.read() for _ in range(SKIPPED_ROUNDS + 2)]
    finally:
        reader.close()
        gauge.close()
    assert all(raws[1] in ("!1", "2222") for raws in rounds)
    assert all(raws[0] == "!1" for raws in rounds)


def test_a_gauge_that_was_silent_is_asked_again_later(gauge: Gauge, reader: ModbusReader) -> None:
    gauge.manner = manners.silent
    assert reader.read() == ["!1", "!1"]
    gauge.manner = manners.well
    asked = len(gauge.heard)
    for _ in range(SKIPPED_ROUNDS):
        assert reader.read() == ["!1", "!1"]
    assert len(gauge.heard) == asked
    assert reader.read() == GOOD


def test_after_a_damaged_answer_the_next_one_is_good(gauge: Gauge, reader: ModbusReader) -> None:
    gauge.manner = manners.damaged
    assert reader.read() == ["!2", "!2"]
    gauge.manner = manners.well
    assert reader.read() == GOOD


def test_a_silent_gauge_takes_no_other_with_it(tmp_path: Path) -> None:
    gauge = Gauge(tmp_path / "rs485", dict(REGISTERS))
    absent = Source(port="rs485", index=0, part=Part.HOLDING, unit=5, register=107)
    reader = ModbusReader(port(tmp_path / "rs485"), (absent, SOURCES[1]), CHANNELS)
    try:
        assert reader.read() == ["!1", "3F800000"]
    finally:
        reader.close()
        gauge.close()


def test_a_line_that_goes_away_is_lost(gauge: Gauge, reader: ModbusReader) -> None:
    gauge.close()
    with pytest.raises(LinkLostError, match="stopped answering"):
        reader.read()
    gauge.close = lambda: None  # type: ignore[method-assign]  # it is closed already


def test_a_line_that_is_held_or_absent_is_named(gauge: Gauge, tmp_path: Path) -> None:
    assert gauge.unit == UNIT
    first = ModbusReader(port(tmp_path / "rs485"), SOURCES, CHANNELS)
    with pytest.raises(BusyError, match="rs485 is held by"):
        ModbusReader(port(tmp_path / "rs485"), SOURCES, CHANNELS)
    first.close()
    first.close()
    with pytest.raises(LinkLostError, match="none is not there"):
        ModbusReader(port(tmp_path / "none"), SOURCES, CHANNELS)


def test_without_the_package_the_message_says_what_to_install(tmp_path: Path) -> None:
    def load(name: str) -> object:
        raise ImportError(name)

    with pytest.raises(InputError, match=r"package minimalmodbus. Install it: pip install 'bagv"):
        ModbusReader(port(tmp_path / "rs485"), SOURCES, CHANNELS, load)
