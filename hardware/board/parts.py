"""The layout turned into chips: each part on its bus, with the mode that its sheet asks for.

Runs under MicroPython. A layout that cannot be is refused at boot, with the raw and what would do.
"""

from hardware.board.chips import (
    Ads1115,
    Bmp280,
    Chip,
    I2cBus,
    Max31855,
    Max31856,
    Max31865,
    Mcp3208,
    SpiBus,
)
from hardware.board.registers import ADS1115_INPUTS, ADS1115_RANGES, MAX31856_TYPES

SPI_MODES = {"max31855": 0, "max31856": 1, "max31865": 1, "mcp3208": 0}
"""Clock phase, the polarity being 0; sheets of MAX31855 p. 9, MAX31865 p. 16, MCP3208 p. 21,
MAX31856 from memory."""
I2C_PARTS = ("ads1115", "bmp280")
LEAST_ADDRESS, MOST_ADDRESS = 0x08, 0x77
MOST_PIN = 29


class Buses:
    """Gives the bus that a chip hangs on; the real one is in `main.py`."""

    def spi(self, pin: int, mode: int) -> SpiBus:
        """Give one chip-select."""
        raise NotImplementedError

    def i2c(self, address: int) -> I2cBus:
        """Give one address."""
        raise NotImplementedError


class Raw:
    """One line of the layout."""

    def __init__(self, number: int, line: tuple[object, ...]) -> None:
        """Read part and place. Raises ValueError where they cannot be."""
        self.number = number
        self.part = str(line[0]) if line else ""
        self._more = line[2:]
        if self.part not in SPI_MODES and self.part not in I2C_PARTS:
            known = ", ".join(sorted(list(SPI_MODES) + list(I2C_PARTS)))
            self._refuse(f"{self.part!r} is no part; parts are {known}")
        what, least, most = "chip-select pin", 0, MOST_PIN
        if self.part in I2C_PARTS:
            what, least, most = "address", LEAST_ADDRESS, MOST_ADDRESS
        place = line[1] if len(line) > 1 else None
        if not isinstance(place, int) or not least <= place <= most:
            self._refuse(f"{what} {place!r} of {self.part} must be from {least} to {most}")
        else:
            self.place = place

    def more(self, at: int, what: str, usual: object, allowed: tuple[object, ...]) -> object:
        """Give what stands behind the place, or what is usual."""
        value = self._more[at] if len(self._more) > at else usual
        if value not in allowed:
            self._refuse(f"{what} {value!r} is none of {', '.join([str(one) for one in allowed])}")
        return value

    def _refuse(self, why: str) -> None:
        raise ValueError(f"layout, raw {self.number}: {why}")


def chips_of(raws: tuple[tuple[object, ...], ...], buses: Buses) -> list[Chip]:
    """Build the chips of a layout. Raises ValueError naming the raw."""
    return [_chip(Raw(number, line), buses) for number, line in enumerate(raws)]


def _chip(raw: Raw, buses: Buses) -> Chip:
    if raw.part == "bmp280":
        return Bmp280(buses.i2c(raw.place))
    if raw.part == "ads1115":
        source = str(raw.more(0, "input", "0", tuple(sorted(ADS1115_INPUTS))))
        range_v = raw.more(1, "largest voltage", 6.144, tuple(sorted(ADS1115_RANGES)))
        return Ads1115(buses.i2c(raw.place), source, float(str(range_v)))
    bus = buses.spi(raw.place, SPI_MODES[raw.part])
    if raw.part == "mcp3208":
        return Mcp3208(bus, int(str(raw.more(0, "input", 0, tuple(range(8))))))
    if raw.part == "max31856":
        return Max31856(bus, str(raw.more(0, "couple", "K", tuple(sorted(MAX31856_TYPES)))))
    if raw.part == "max31865":
        return Max31865(bus, int(str(raw.more(0, "wires", 4, (2, 3, 4)))))
    return Max31855(bus)
