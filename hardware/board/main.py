"""The board itself, an RP2040 with its pins: what hangs where, then round and round.

Change `chips_of` to what hangs on your board; `hardware/wiring.md` has the pin tables. The order is
that of the raws: the bench file's `index` counts it from 0.
"""

import sys

from hardware.board.chips import (
    Ads1115,
    Bmp280,
    Chip,
    I2cBus,
    Max31855,
    SpiBus,
)
from hardware.board.talk import Board, Pins

SPI_HZ = 1000000
I2C_HZ = 400000
SUPPLY_DIVIDER = 3
"""The board's own divider before its fourth converter input."""
REFERENCE_MV = 3300
BLINKS = 6


class PinSpi(SpiBus):
    """One chip-select of the SPI."""

    def __init__(self, machine, spi, select):
        self._spi = spi
        self._select = machine.Pin(select, machine.Pin.OUT, value=1)

    def xfer(self, tx: bytes) -> bytes:
        """See `SpiBus`."""
        rx = bytearray(len(tx))
        self._select(0)
        try:
            self._spi.write_readinto(tx, rx)
        finally:
            self._select(1)
        return bytes(rx)


class PinI2c(I2cBus):
    """One address of the I2C."""

    def __init__(self, i2c, address):
        self._i2c, self._address = i2c, address

    def xfer(self, tx: bytes, count: int) -> bytes:
        """See `I2cBus`."""
        self._i2c.writeto(self._address, tx, not count)
        return bytes(self._i2c.readfrom(self._address, count)) if count else b""


def chips_of(machine) -> list[Chip]:
    """Say what hangs on the board, in the order of the raws."""
    spi = machine.SPI(
        0, SPI_HZ, polarity=0, phase=0, sck=machine.Pin(18), mosi=machine.Pin(19),
        miso=machine.Pin(16),
    )  # fmt: skip
    i2c = machine.I2C(0, scl=machine.Pin(5), sda=machine.Pin(4), freq=I2C_HZ)
    return [
        Ads1115(PinI2c(i2c, 0x48), "0"),  # bag transducer
        Ads1115(PinI2c(i2c, 0x48), "3"),  # its supply
        Max31855(PinSpi(machine, spi, 17)),  # part1
        Max31855(PinSpi(machine, spi, 20)),  # part2
        Max31855(PinSpi(machine, spi, 21)),  # mould
        Bmp280(PinI2c(i2c, 0x76)),  # barometer
    ]


class BoardPins(Pins):
    """USB, clock, lamp and supply of the board."""

    def __init__(self, machine, time, poll, usb):
        self._time, self._poll, self._usb = time, poll, usb
        self._lamp = machine.Pin("LED", machine.Pin.OUT)
        self._supply = machine.ADC(3)
        self._ticks, self._passed_ms = time.ticks_ms(), 0

    def now_ms(self) -> int:
        """See `Pins`."""
        ticks = self._time.ticks_ms()
        self._passed_ms += self._time.ticks_diff(ticks, self._ticks)
        self._ticks = ticks
        return int(self._passed_ms)

    def heard(self) -> bytes:
        """See `Pins`. Byte by byte: a read of more would wait for them."""
        data = b""
        while self._poll.poll(0) and len(data) < 64:
            data += sys.stdin.buffer.read(1)
        return data

    def send(self, data: bytes) -> bool:
        """See `Pins`."""
        return bool(self._usb.write(data) == len(data))

    def supply_mv(self) -> int:
        """See `Pins`."""
        return int(self._supply.read_u16() * SUPPLY_DIVIDER * REFERENCE_MV // 65535)

    def blink(self) -> None:
        """See `Pins`."""
        for _ in range(BLINKS):
            self._lamp.toggle()
            self._time.sleep_ms(50)


def started(machine, time, poll, usb, boot_id) -> Board:
    """Put the board together; it says hello."""
    uid = "".join([f"{byte:02X}" for byte in machine.unique_id()])
    return Board(BoardPins(machine, time, poll, usb), chips_of(machine), uid, boot_id)


def run():
    """Go round and round."""
    import os
    import select
    import time

    import machine

    poll = select.poll()
    poll.register(sys.stdin, select.POLLIN)
    boot_id = "".join([f"{byte:02X}" for byte in os.urandom(4)])
    board = started(machine, time, poll, sys.stdout.buffer, boot_id)
    while True:
        board.turn()
        time.sleep_ms(1)


if __name__ == "__main__":
    run()
