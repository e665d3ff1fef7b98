"""Benches without a board: files for SPI, I2C and Modbus, and the parts at their other end."""

from __future__ import annotations

import os
import select
import threading
import tty
from collections.abc import Callable, Mapping
from pathlib import Path

from hardware.board.chips import I2cBus, SpiBus
from hardware.channels import (
    AdcCoupleSpec,
    AdcPressureSpec,
    BarometerSpec,
    Couple,
    CoupleSpec,
    Kind,
    Reference,
    RegisterSpec,
    ResistanceSpec,
)
from simulations.chips import (
    BarometerChip,
    LinearCoupleChip,
    LinearisingCoupleChip,
    ResistanceChip,
    SixteenBitConverter,
    TwelveBitConverter,
)
from simulations.drawer import Drawer
from simulations.modbus import REQUEST_BYTES, answer

HEAD = """\
[bench]
name = "drawer-bench"
period_s = {period_s}
[socket]
path = "s.sock"
[record]
folder = "jobs"
"""


def port(kind: str, device: str, more: str = "") -> str:
    return f'[[port]]\nname = "parts"\nkind = "{kind}"\ndevice = "{device}"\n{more}\n'


def source(index: int, part: str, more: str) -> str:
    return f'[[source]]\nport = "parts"\nindex = {index}\npart = "{part}"\n{more}\n'


def channel(name: str, index: int, kind: str, more: str = "") -> str:
    return (
        f'[[channel]]\nname = "{name}"\nport = "parts"\nindex = {index}\nkind = "{kind}"\n{more}\n'
    )


# --- SPI: 12-bit pressures, both kinds of couple chip, a platinum element -------------------------

SPI_BENCH = (
    HEAD
    + port("spi", "/dev/spidev0")
    + source(0, "mcp3208", 'select = 0\ninput = "0"')
    + source(1, "mcp3208", 'select = 0\ninput = "5"')
    + source(2, "max31855", "select = 1")
    + source(3, "max31856", "select = 2")
    + source(4, "max31865", "select = 3\nwires = 3")
    + source(5, "max31855", "select = 4")
    + channel("bag", 0, "adc12")
    + channel("pump", 1, "adc12")
    + channel("part1", 2, "tc31855", 'couple = "J"')
    + channel("part2", 3, "tc31856", 'couple = "T"')
    + channel("mould", 4, "rtd31865")
    + channel("shop", 5, "tc31855")
)
GAUGE_12 = AdcPressureSpec(kind=Kind.ADC12)


class SpiDrawer:
    """Chips by their chip-select."""

    def __init__(self, drawer: Drawer) -> None:
        linear_j = CoupleSpec(kind=Kind.TC31855, couple=Couple.J)
        linear_k = CoupleSpec(kind=Kind.TC31855)
        linearised_t = CoupleSpec(kind=Kind.TC31856, couple=Couple.T)
        self._chips: dict[int, SpiBus] = {
            0: TwelveBitConverter(
                {0: drawer.word("bag", GAUGE_12), 5: drawer.word("pump", GAUGE_12)}
            ),
            1: LinearCoupleChip(drawer.word("part1", linear_j)),
            2: LinearisingCoupleChip(drawer.word("part2", linearised_t)),
            3: ResistanceChip(drawer.word("mould", ResistanceSpec())),
            4: LinearCoupleChip(drawer.word("shop", linear_k)),
        }

    def spi(self, device: str, select: int, mode: int) -> SpiBus:
        assert device == "/dev/spidev0"
        assert mode == {0: 0, 1: 0, 2: 1, 3: 1, 4: 0}[select]
        return self._chips[select]

    def i2c(self, device: str, address: int) -> I2cBus:
        raise AssertionError(f"nothing hangs on {device} at {address}")

    def close(self) -> None:
        """Nothing was opened."""


# --- I2C: 16-bit ratiometric pressures, couples straight on a converter, the room's chip ----------

FINE = "range_v = 0.256"
COUPLE_KEYS = 'couple = "{couple}"\nvolts_per_count = 7.8125e-6\ncold_channel = "shop"'
GAUGE_KEYS = "volts_per_count = 187.5e-6\nsupply_index = 2"
I2C_BENCH = (
    HEAD
    + port("i2c", "/dev/i2c-1")
    + source(0, "ads1115", 'address = 0x48\ninput = "0"')
    + source(1, "ads1115", 'address = 0x48\ninput = "1"')
    + source(2, "ads1115", 'address = 0x48\ninput = "3"')
    + source(3, "ads1115", f'address = 0x49\ninput = "0-1"\n{FINE}')
    + source(4, "ads1115", f'address = 0x49\ninput = "2-3"\n{FINE}')
    + source(5, "bmp280", "address = 0x76")
    + channel("bag", 0, "adc16s", GAUGE_KEYS + '\nreference = "gauge"\nfull_scale_pa = -110000.0')
    + channel("pump", 1, "adc16s", GAUGE_KEYS)
    + channel("part1", 3, "adc16s", COUPLE_KEYS.format(couple="K"))
    + channel("part2", 4, "adc16s", COUPLE_KEYS.format(couple="T"))
    + channel("barometer", 5, "bmp280")
    + channel("shop", 5, "bmp280")
)


class I2cDrawer:
    """Chips by their address."""

    def __init__(self, drawer: Drawer) -> None:
        vacuum = _ratiometric(reference=Reference.GAUGE, full_scale_pa=-110000.0)
        absolute = _ratiometric()
        self._chips: dict[int, I2cBus] = {
            0x48: SixteenBitConverter(
                {
                    4: drawer.word("bag", vacuum),
                    5: drawer.word("pump", absolute),
                    7: drawer.supply(absolute),
                }
            ),
            0x49: SixteenBitConverter(
                {
                    0: drawer.word("part1", _straight(Couple.K)),
                    3: drawer.word("part2", _straight(Couple.T)),
                }
            ),
            0x76: BarometerChip(drawer.barometer),
        }

    def i2c(self, device: str, address: int) -> I2cBus:
        assert device == "/dev/i2c-1"
        return self._chips[address]

    def spi(self, device: str, select: int, mode: int) -> SpiBus:
        raise AssertionError(f"nothing hangs on {device}.{select} in mode {mode}")

    def close(self) -> None:
        """Nothing was opened."""


def _ratiometric(
    reference: Reference = Reference.ABSOLUTE, full_scale_pa: float = 100000.0
) -> AdcPressureSpec:
    return AdcPressureSpec(
        kind=Kind.ADC16S,
        volts_per_count=187.5e-6,
        supply_index=2,
        reference=reference,
        full_scale_pa=full_scale_pa,
    )


def _straight(couple: Couple) -> AdcCoupleSpec:
    return AdcCoupleSpec(
        kind=Kind.ADC16S,
        volts_per_count=7.8125e-6,
        couple=couple,
        cold_index=5,
        cold=BarometerSpec(temperature=True),
    )


# --- Modbus: two gauges on one line ---------------------------------------------------------------

MODBUS_BENCH = (
    HEAD
    + port("modbus", "{device}", "baud = 115200\nparity = 'even'")
    + source(0, "holding_register", "unit = 17\nregister = 107")
    + source(1, "holding_register", "unit = 17\nregister = 110")
    + source(2, "input_register", "unit = 18\nregister = 0")
    + source(3, "input_register", "unit = 18\nregister = 1")
    + source(4, "input_register", "unit = 18\nregister = 2")
    + channel("bag", 0, "f32", 'unit = "mbar"\nword_order = "low_first"')
    + channel("pump", 1, "u16", 'unit = "hPa"\nscale = 0.1')
    + channel("part1", 2, "i16", 'unit = "degC"\nscale = 0.1')
    + channel("mould", 3, "i16", 'unit = "degC"\nscale = 0.1')
    + channel("shop", 4, "i16", 'unit = "degC"\nscale = 0.1')
)
TENTHS = RegisterSpec(kind=Kind.I16, unit="degC", scale=0.1)
LINE: Mapping[tuple[int, int], tuple[str, RegisterSpec]] = {
    (17, 107): ("bag", RegisterSpec(kind=Kind.F32, unit="mbar", low_word_first=True)),
    (17, 110): ("pump", RegisterSpec(kind=Kind.U16, unit="hPa", scale=0.1)),
    (18, 0): ("part1", TENTHS),
    (18, 1): ("mould", TENTHS),
    (18, 2): ("shop", TENTHS),
}


class ModbusDrawer:
    """Two gauges on a pseudo terminal."""

    def __init__(self, drawer: Drawer, link: Path) -> None:
        self._words: dict[tuple[int, int], Callable[[], str]] = {
            place: drawer.word(name, spec) for place, (name, spec) in LINE.items()
        }
        self._ours, self._theirs = os.openpty()
        tty.setraw(self._theirs)
        link.symlink_to(os.ttyname(self._theirs))
        self._end = threading.Event()
        self._thread = threading.Thread(target=self._answer, name="gauges")
        self._thread.start()

    def close(self) -> None:
        self._end.set()
        self._thread.join()
        os.close(self._ours)
        os.close(self._theirs)

    def _answer(self) -> None:
        pending = b""
        while not self._end.is_set():
            ready, _, _ = select.select([self._ours], [], [], 0.05)
            pending = pending + os.read(self._ours, 4096) if ready else pending
            while len(pending) >= REQUEST_BYTES:
                request, pending = pending[:REQUEST_BYTES], pending[REQUEST_BYTES:]
                for unit in (17, 18):
                    said = answer(request, unit, _Snapshot(self._words, unit))
                    if said is not None:
                        os.write(self._ours, said)


class _Snapshot:
    """Registers of one gauge during one request: both halves of a number are of one moment."""

    def __init__(self, words: Mapping[tuple[int, int], Callable[[], str]], unit: int) -> None:
        self._words, self._unit = words, unit
        self._taken: dict[int, bytes] = {}

    def __call__(self, register: int) -> bytes | None:
        if register not in self._taken:
            word = self._words.get((self._unit, register))
            if word is None:
                return None
            data = bytes.fromhex(word())
            for offset in range(0, len(data), 2):
                self._taken[register + offset // 2] = data[offset : offset + 2]
        return self._taken[register]
