"""Each chip's talk: the bytes that go out, and the raw word made of those that come back.

The board and the host's own buses run this very file, so it keeps to what MicroPython knows: no
`typing`, no dataclasses, no formatting of bytes. No chip is trusted to be as it was set up: one
that lost its supply for a moment is found by its own registers and set up again.
"""

from hardware.board.registers import (
    ADS1115_INPUTS,
    ADS1115_RANGES,
    BMP280_CONFIG,
    BMP280_IDS,
    BMP280_MEASURE,
    MAX31856_CR0,
    MAX31856_TYPES,
    MAX31865_CONFIG,
    MAX31865_THREE_WIRES,
)

ERROR_NO_NULL_BIT = "!2"
"""A 12-bit converter did not pull its line low where it must: nobody answers."""
ERROR_NOT_READY = "!3"
"""A conversion did not end."""
ERROR_OTHER_CHIP = "!4"
"""The chip at this address says that it is another."""
ERROR_UNKNOWN = "!1"
NOT_READ = "-"
MOST_LOOKS = 400
"""At an unfinished conversion: 8 ms are 40 looks on a bus of 400 kHz."""


class SpiBus:
    """One chip-select of a bus: as many bytes come back as go out."""

    def xfer(self, tx: bytes) -> bytes:
        """Clock bytes out and in. Raises OSError when the bus is gone."""
        raise NotImplementedError


class I2cBus:
    """One address of a bus."""

    def xfer(self, tx: bytes, count: int) -> bytes:
        """Write `tx`, then read `count` bytes. Raises OSError when nobody answers."""
        raise NotImplementedError


class Chip:
    """One raw word of a sample."""

    kind = ""
    """What the raw is, as the hello says it."""
    longest = 8
    """Characters of its longest raw, errors included."""

    def read(self) -> str:
        """Read the raw now. Raises OSError from the bus."""
        raise NotImplementedError


class Max31855(Chip):
    """Thermocouple converter that takes every couple for a straight line; sheet 19-5793 p. 9."""

    kind = "tc31855"

    def __init__(self, bus: SpiBus) -> None:
        self._bus = bus

    def read(self) -> str:
        """See `Chip`."""
        return _hex(self._bus.xfer(bytes(4)))


class Max31856(Chip):
    """Thermocouple converter that linearises; register map from memory."""

    kind = "tc31856"

    def __init__(self, bus: SpiBus, couple: str = "K") -> None:
        self._bus = bus
        self._wanted = bytes((MAX31856_CR0, MAX31856_TYPES[couple]))

    def read(self) -> str:
        """See `Chip`. All sixteen registers in one go, so that a word stands beside its setting."""
        registers = self._bus.xfer(bytes(17))[1:]
        if _dead(registers):
            return _hex(registers[12:16])
        if registers[:2] != self._wanted:
            self._bus.xfer(bytes((0x80,)) + self._wanted)
            return NOT_READ
        return _hex(registers[12:16])


class Max31865(Chip):
    """Resistance converter; sheet 19-6478 p. 12 to 14."""

    kind = "rtd31865"

    def __init__(self, bus: SpiBus, wires: int = 4) -> None:
        self._bus = bus
        self._wanted = MAX31865_CONFIG | (MAX31865_THREE_WIRES if wires == 3 else 0)

    def read(self) -> str:
        """See `Chip`. A fault stays latched until it is cleared, which is done once it is read."""
        registers = self._bus.xfer(bytes(9))[1:]
        if _dead(registers):
            return _hex(registers[:4])
        if registers[0] != self._wanted:
            self._bus.xfer(bytes((0x80, self._wanted)))
            return NOT_READ
        if registers[2] & 1:
            self._bus.xfer(bytes((0x80, self._wanted | 0x02)))
        return _hex(bytes((registers[1], registers[2], registers[7], 0)))


class Mcp3208(Chip):
    """One input of a 12-bit converter with 4 or 8; sheet DS21298E section 6.1, figure 6-1."""

    kind = "adc12"

    def __init__(self, bus: SpiBus, source: int) -> None:
        self._bus = bus
        self._ask = bytes((0x06 | source >> 2, (source & 3) << 6, 0))

    def read(self) -> str:
        """See `Chip`. Three bits of the second byte are unknown, the fourth is always 0."""
        answer = self._bus.xfer(self._ask)
        if answer[1] & 0x10:
            return ERROR_NO_NULL_BIT
        return str((answer[1] & 0x0F) << 8 | answer[2])


class Ads1115(Chip):
    """One input or pair of a 16-bit converter, one conversion at a time; sheet from memory."""

    kind = "adc16s"

    def __init__(self, bus: I2cBus, source: str = "0", range_v: float = 6.144) -> None:
        self._bus = bus
        high = 0x81 | ADS1115_INPUTS[source] << 4 | ADS1115_RANGES[range_v] << 1
        self._config = bytes((high, 0x83))

    def read(self) -> str:
        """See `Chip`. A config that does not come back is a chip that began anew meanwhile."""
        self._bus.xfer(bytes((1,)) + self._config, 0)
        for _ in range(MOST_LOOKS):
            config = self._bus.xfer(bytes((1,)), 2)
            if config[0] & 0x80:
                break
        else:
            return ERROR_NOT_READY
        if config != self._config:
            return NOT_READ
        answer = self._bus.xfer(bytes((0,)), 2)
        count = answer[0] << 8 | answer[1]
        return str(count - 0x10000 if count & 0x8000 else count)


class Bmp280(Chip):
    """Barometer; its factory trimming travels with every word; sheet BST-BMP280-DS001, section 4.

    Raw: 24 bytes of trimming (88h..9Fh) and 6 of measurement (F7h..FCh) in hex.
    """

    kind = "bmp280"
    longest = 60

    def __init__(self, bus: I2cBus) -> None:
        self._bus = bus
        self._trimming = b""

    def read(self) -> str:
        """See `Chip`."""
        registers = self._bus.xfer(bytes((0xF4,)), 9)
        if not self._trimming or registers[:2] != bytes((BMP280_MEASURE, BMP280_CONFIG)):
            return self._set_up()
        return _hex(self._trimming + registers[3:])

    def _set_up(self) -> str:
        if self._bus.xfer(bytes((0xD0,)), 1)[0] not in BMP280_IDS:
            return ERROR_OTHER_CHIP
        self._trimming = self._bus.xfer(bytes((0x88,)), 24)
        # The filter's register is only taken while the chip sleeps, so it goes first.
        self._bus.xfer(bytes((0xF4, 0x00)), 0)
        self._bus.xfer(bytes((0xF5, BMP280_CONFIG)), 0)
        self._bus.xfer(bytes((0xF4, BMP280_MEASURE)), 0)
        return NOT_READ


def read_raw(chip: Chip) -> str:
    """Read a chip; what its bus reports becomes a driver error with the system's number."""
    try:
        return chip.read()
    except OSError as error:
        number = error.args[0] if error.args else None
        return f"!{number}" if isinstance(number, int) and number > 0 else ERROR_UNKNOWN


def _dead(registers: bytes) -> bool:
    """Tell whether all bits are alike: nobody drives the line."""
    return registers in (bytes(len(registers)), b"\xff" * len(registers))


def _hex(data: bytes) -> str:
    return "".join([f"{byte:02X}" for byte in data])
