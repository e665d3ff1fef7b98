"""The computer's own SPI and I2C: bytes out, bytes in, nothing guessed and nothing instead.

The libraries are extras and are loaded when a bench file asks for them; one that is missing, or a
device that is not there, is an InputError that names it. Importing this touches no device.
"""

from __future__ import annotations

import errno
from collections.abc import Callable
from importlib import import_module
from typing import Any, NoReturn, Protocol

from firmware_host.config.source_tables import Part
from firmware_host.errors import BusyError, InputError
from hardware.board.chips import I2cBus, SpiBus

SPI_HZ = 1_000_000
"""All chips here bear it, and half a metre of ribbon does too."""
SPI_MODES = {Part.MCP3208: 0, Part.MAX31855: 0, Part.MAX31856: 1, Part.MAX31865: 1}
"""Clock polarity and phase; sheets of MCP3208 p. 21, MAX31855 p. 9, MAX31865 p. 16; MAX31856 from
memory."""


class Buses(Protocol):
    """Gives the bus that a chip hangs on."""

    def spi(self, device: str, select: int, mode: int) -> SpiBus:
        """Open one chip-select. Raises InputError naming the package or device that is missing."""

    def i2c(self, device: str, address: int) -> I2cBus:
        """Open one address; raises as `spi` does."""

    def close(self) -> None:
        """Give every bus back."""


class SystemBuses:
    """The buses of this computer, through spidev and smbus2."""

    def __init__(self, load: Callable[[str], Any] = import_module) -> None:
        """Prepare; `load` gives a module by its name."""
        self._load = load
        self._open: dict[str, Any] = {}

    def spi(self, device: str, select: int, mode: int) -> SpiBus:
        """See `Buses`. The system's device is `device`, a point, and the chip-select."""
        place = f"{device}.{select}"
        if place not in self._open:
            spidev = self._package("spidev", "spi", place)
            self._open[place] = opened = spidev.SpiDev()
            try:
                opened.open_path(place)
                opened.max_speed_hz, opened.mode = SPI_HZ, mode
            except OSError as error:
                _refuse(place, error, "Switch SPI on and check device and select.")
        return SystemSpi(self._open[place])

    def i2c(self, device: str, address: int) -> I2cBus:
        """See `Buses`."""
        smbus2 = self._package("smbus2", "i2c", device)
        if device not in self._open:
            try:
                self._open[device] = smbus2.SMBus(device)
            except OSError as error:
                _refuse(device, error, "Switch I2C on and check device.")
        return SystemI2c(self._open[device], smbus2.i2c_msg, address)

    def close(self) -> None:
        """See `Buses`."""
        while self._open:
            _, opened = self._open.popitem()
            opened.close()

    def _package(self, name: str, kind: str, place: str) -> Any:  # noqa: ANN401 - a module
        try:
            return self._load(name)
        except ImportError as error:
            text = (
                f"{place} is a port of kind {kind}, which needs the package {name}. "
                "Install it: pip install 'bagvigil[gpio]'."
            )
            raise InputError([text]) from error


class SystemSpi(SpiBus):
    """One chip-select, opened."""

    def __init__(self, opened: Any) -> None:  # noqa: ANN401 - of a package without types
        self._opened = opened

    def xfer(self, tx: bytes) -> bytes:
        """See `SpiBus`."""
        return bytes(self._opened.xfer2(list(tx)))


class SystemI2c(I2cBus):
    """One address of an opened bus."""

    def __init__(self, opened: Any, message: Any, address: int) -> None:  # noqa: ANN401 - as above
        self._opened, self._message, self._address = opened, message, address

    def xfer(self, tx: bytes, count: int) -> bytes:
        """See `I2cBus`. Write and read are one transaction: nobody comes between."""
        asked = self._message.write(self._address, list(tx))
        if not count:
            self._opened.i2c_rdwr(asked)
            return b""
        answer = self._message.read(self._address, count)
        self._opened.i2c_rdwr(asked, answer)
        return bytes(list(answer))


def _refuse(place: str, error: OSError, advice: str) -> NoReturn:
    if error.errno == errno.EBUSY:
        text = f"{place} is held by another program. Stop it, then try again."
        raise BusyError(text) from error
    if error.errno in (errno.EACCES, errno.EPERM):
        advice = "Add the user to the device's group."
    raise InputError([f"{place} cannot be opened ({error.strerror or error}). {advice}"]) from error
