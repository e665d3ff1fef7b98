"""A bench file's sources become chips, and the chips one word each."""

from __future__ import annotations

import pytest

from firmware_host.config.load import parse_bench
from firmware_host.inputs.raw_reader import answered, open_chips
from hardware.board.chips import I2cBus, SpiBus
from simulations.chips import (
    BarometerChip,
    LinearCoupleChip,
    LinearisingCoupleChip,
    ResistanceChip,
    SixteenBitConverter,
    TwelveBitConverter,
)
from tests.hardware.board.fakes import Unplugged
from tests.hardware.board.story import MEASURED, TRIMMING
from tests.system.drawers import I2C_BENCH, SPI_BENCH

ROOM = (TRIMMING + MEASURED).hex().upper()


class Bench:
    """Emulated chips of both benches; what was opened is kept."""

    def __init__(self) -> None:
        self.modes: dict[int, int] = {}
        self.closed = 0
        self.spis: dict[int, SpiBus] = {
            0: TwelveBitConverter({0: lambda: "2048", 5: lambda: "410"}),
            1: LinearCoupleChip(lambda: "01901900"),
            2: LinearisingCoupleChip(lambda: "01900000"),
            3: ResistanceChip(lambda: "40000000"),
            4: LinearCoupleChip(lambda: "FFFFFFFF"),
        }
        self.i2cs: dict[int, I2cBus] = {
            0x48: SixteenBitConverter({4: lambda: "13333", 5: lambda: "-2", 7: lambda: "26667"}),
            0x49: Unplugged(),
            0x76: BarometerChip(lambda: ROOM),
        }

    def spi(self, device: str, select: int, mode: int) -> SpiBus:
        assert device == "/dev/spidev0"
        self.modes[select] = mode
        return self.spis[select]

    def i2c(self, device: str, address: int) -> I2cBus:
        assert device == "/dev/i2c-1"
        return self.i2cs[address]

    def close(self) -> None:
        self.closed += 1


def test_every_chip_on_spi_is_set_up_and_read() -> None:
    bench, buses = parse_bench(SPI_BENCH.format(period_s=1.0), "b"), Bench()
    reader = open_chips(bench.port[0], bench, buses)
    assert buses.modes == {0: 0, 1: 0, 2: 1, 3: 1, 4: 0}
    assert reader.read() == ["2048", "410", "01901900", "-", "-", "FFFFFFFF"]
    assert reader.read() == ["2048", "410", "01901900", "01900000", "40000000", "FFFFFFFF"]
    reader.close()
    assert buses.closed == 1


def test_the_linearising_chip_is_set_to_the_couple_of_its_channel() -> None:
    bench, buses = parse_bench(SPI_BENCH.format(period_s=1.0), "b"), Bench()
    open_chips(bench.port[0], bench, buses).read()
    chip = buses.spis[2]
    assert isinstance(chip, LinearisingCoupleChip)
    assert chip.registers[:2] == b"\x91\x07"  # type T


def test_the_element_is_set_to_its_three_wires() -> None:
    bench, buses = parse_bench(SPI_BENCH.format(period_s=1.0), "b"), Bench()
    open_chips(bench.port[0], bench, buses).read()
    chip = buses.spis[3]
    assert isinstance(chip, ResistanceChip)
    assert chip.registers[0] == 0xD1


def test_a_chip_that_does_not_answer_takes_no_other_with_it() -> None:
    bench, buses = parse_bench(I2C_BENCH.format(period_s=1.0), "b"), Bench()
    reader = open_chips(bench.port[0], bench, buses)
    assert reader.read() == ["13333", "-2", "26667", "!121", "!121", "-"]
    assert reader.read()[-1] == ROOM


@pytest.mark.parametrize(
    ("raw", "yes"), [("0", True), ("-13333", True), ("FFFFFFFF", True), ("-", False), ("!2", False)]
)
def test_a_word_tells_whether_its_part_answered(raw: str, *, yes: bool) -> None:
    assert answered(raw) is yes
