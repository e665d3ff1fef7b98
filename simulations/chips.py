"""Chips on a bus, register for register as their data sheets have them.

The other end of the host's own SPI and I2C. What a chip measures comes as the word that the
hardware's encoder gives; here it is put where the chip keeps it, with the chip's own manners: an
unknown bit, a conversion that takes time, a fault bit that stays until it is cleared.
"""

from __future__ import annotations

from collections.abc import Callable

from hardware.board.chips import I2cBus, SpiBus

Word = Callable[[], str]
"""Gives the raw word of what is measured now."""

_CONVERTING_LOOKS = 2
"""Looks at a converter's config that still find it busy."""


class LinearCoupleChip(SpiBus):
    """MAX31855: 32 bits, most significant first, and it hears nothing; sheet p. 9, figure 2."""

    def __init__(self, word: Word) -> None:
        self._word = word

    def xfer(self, tx: bytes) -> bytes:
        """See `SpiBus`."""
        return (bytes.fromhex(self._word()) + bytes(len(tx)))[: len(tx)]


class RegisterChip(SpiBus):
    """MAX31856, MAX31865: an address with bit 7 for writing, then registers one after the other."""

    def __init__(self, reset: bytes) -> None:
        self.registers = bytearray(reset)

    def xfer(self, tx: bytes) -> bytes:
        """See `SpiBus`."""
        start, count = tx[0] & 0x7F, len(tx) - 1
        if tx[0] & 0x80:
            for offset, byte in enumerate(tx[1:]):
                self.write(start + offset, byte)
            return bytes(len(tx))
        self.measure()
        return bytes(1) + bytes(
            self.registers[(start + n) % len(self.registers)] for n in range(count)
        )

    def write(self, register: int, byte: int) -> None:
        """Take a byte; the last ones of a chip are for reading only."""
        self.registers[register] = byte

    def measure(self) -> None:
        """Put what is measured now where it is read."""


class LinearisingCoupleChip(RegisterChip):
    """MAX31856 from power-up: type K, not converting; from memory."""

    def __init__(self, word: Word) -> None:
        super().__init__(bytes.fromhex("00 03 FF 7F C0 7F FF 80 00 00 00 00 00 00 00 00"))
        self._word = word

    def measure(self) -> None:
        """See `RegisterChip`; only while it converts by itself, CR0 bit 7."""
        if self.registers[0] & 0x80:
            self.registers[12:16] = bytes.fromhex(self._word())


class ResistanceChip(RegisterChip):
    """MAX31865 from power-up; sheet p. 12, table 1."""

    def __init__(self, word: Word) -> None:
        super().__init__(bytes.fromhex("00 00 00 FF FF 00 00 00"))
        self._word = word

    def write(self, register: int, byte: int) -> None:
        """See `RegisterChip`; config bit 1 clears the fault status and itself."""
        if register == 0 and byte & 0x02:
            self.registers[7] = 0
            byte &= ~0x02
        super().write(register, byte)

    def measure(self) -> None:
        """See `RegisterChip`; only with bias and automatic conversion on."""
        if self.registers[0] & 0xC0 == 0xC0:
            word = bytes.fromhex(self._word())
            self.registers[1:3] = word[:2]
            self.registers[7] |= word[2]


class TwelveBitConverter(SpiBus):
    """MCP3208: start bit, single-ended, three bits of input; sheet section 5, figure 6-1."""

    def __init__(self, inputs: dict[int, Word]) -> None:
        self._inputs = inputs

    def xfer(self, tx: bytes) -> bytes:
        """See `SpiBus`. What comes before the null bit is not driven; here it floats up."""
        asked = int.from_bytes(tx, "big")
        if asked >> 17 != 0b11:
            return b"\xff" * len(tx)
        word = self._inputs.get(asked >> 14 & 7)
        count = int(word()) if word is not None else 0
        return (0xFFE000 | count).to_bytes(3, "big")


class SixteenBitConverter(I2cBus):
    """ADS1115: pointer, config, conversion; from memory. `inputs` counts by the mux bits."""

    def __init__(self, inputs: dict[int, Word]) -> None:
        self._inputs = inputs
        self._config = 0x8583
        self._count = 0
        self._busy = 0

    def xfer(self, tx: bytes, count: int) -> bytes:
        """See `I2cBus`."""
        if len(tx) == 3 and tx[0] == 1:
            self._start(int.from_bytes(tx[1:], "big"))
        if not count:
            return b""
        return self._register(tx[0]).to_bytes(2, "big")[:count]

    def _start(self, config: int) -> None:
        self._config = config
        word = self._inputs.get(config >> 12 & 7)
        self._count = int(word()) if word is not None else 0
        self._busy = _CONVERTING_LOOKS

    def _register(self, pointer: int) -> int:
        if pointer == 0:
            return self._count & 0xFFFF
        if self._busy:
            self._busy -= 1
            return self._config & 0x7FFF
        return self._config | 0x8000


class BarometerChip(I2cBus):
    """BMP280: 256 registers, read on from the one that was written; sheet section 4 and 5.2."""

    def __init__(self, word: Word) -> None:
        self._word = word
        self._registers = bytearray(256)
        self._registers[0xD0] = 0x58
        self._registers[0xF7:0xFD] = bytes.fromhex("800000800000")

    def xfer(self, tx: bytes, count: int) -> bytes:
        """See `I2cBus`."""
        if len(tx) == 2:
            self._registers[tx[0]] = tx[1]
        data = bytes.fromhex(self._word())
        self._registers[0x88:0xA0] = data[:24]
        if self._registers[0xF4] & 3 == 3:
            self._registers[0xF7:0xFD] = data[24:]
        return bytes(self._registers[tx[0] : tx[0] + count])
