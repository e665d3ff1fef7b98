"""The board itself, an RP2040 with its pins: what hangs where, then round and round.

What hangs on it is written in `layout.py`; nothing here need be changed.
"""

import sys

from hardware.board.chips import I2cBus, SpiBus
from hardware.board.layout import I2C_PINS, RAWS, SPI_PINS
from hardware.board.parts import Buses, chips_of
from hardware.board.talk import Board, Pins

SPI_HZ = 1000000
I2C_HZ = 400000
SUPPLY_DIVIDER = 3
"""The board's own divider before its fourth converter input."""
REFERENCE_MV = 3300
BLINKS = 6


class PinSpi(SpiBus):
    """One chip-select of the SPI."""

    def __init__(self, machine, spi, select, mode):
        self._spi, self._mode = spi, mode
        self._select = machine.Pin(select, machine.Pin.OUT, value=1)

    def xfer(self, tx: bytes) -> bytes:
        """See `SpiBus`."""
        rx = bytearray(len(tx))
        # Chips of two modes share the bus: each sets its own before it is selected.
        self._spi.init(baudrate=SPI_HZ, polarity=0, phase=self._mode)
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


class PinBuses(Buses):
    """Both buses of the board; each is set up when its first chip asks for it."""

    def __init__(self, machine):
        self._machine = machine
        self._spi = self._i2c = None

    def spi(self, pin: int, mode: int) -> SpiBus:
        """See `Buses`."""
        if self._spi is None:
            clock, out, back = [self._machine.Pin(number) for number in SPI_PINS]
            self._spi = self._machine.SPI(
                0, SPI_HZ, polarity=0, phase=mode, sck=clock, mosi=out, miso=back
            )
        return PinSpi(self._machine, self._spi, pin, mode)

    def i2c(self, address: int) -> I2cBus:
        """See `Buses`."""
        if self._i2c is None:
            clock, data = [self._machine.Pin(number) for number in I2C_PINS]
            self._i2c = self._machine.I2C(0, scl=clock, sda=data, freq=I2C_HZ)
        return PinI2c(self._i2c, address)


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


def started(machine, time, poll, usb, boot_id, raws=RAWS) -> Board:
    """Put the board together; it says hello. Raises ValueError for a layout that cannot be."""
    uid = "".join([f"{byte:02X}" for byte in machine.unique_id()])
    chips = chips_of(raws, PinBuses(machine))
    return Board(BoardPins(machine, time, poll, usb), chips, uid, boot_id)


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
