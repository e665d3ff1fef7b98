"""Buses that answer from a script, and the modules that only a board has.

Runs under CPython and under MicroPython alike.
"""

from hardware.board.chips import I2cBus, SpiBus


class ScriptedSpi(SpiBus):
    """Answers one after the other; keeps what was asked."""

    def __init__(self, answers: list[bytes]) -> None:
        self._answers = list(answers)
        self.asked: list[bytes] = []

    def xfer(self, tx: bytes) -> bytes:
        self.asked.append(bytes(tx))
        return self._answers.pop(0)


class ScriptedI2c(I2cBus):
    """Answers one after the other; keeps what was asked and how many bytes were wanted."""

    def __init__(self, answers: list[bytes]) -> None:
        self._answers = list(answers)
        self.asked: list[tuple[bytes, int]] = []

    def xfer(self, tx: bytes, count: int) -> bytes:
        self.asked.append((bytes(tx), count))
        answer = self._answers.pop(0)
        assert len(answer) == count
        return answer


class Unplugged(I2cBus):
    """Nobody acknowledges the address: error 121 of Linux, EREMOTEIO."""

    def xfer(self, tx: bytes, count: int) -> bytes:  # noqa: ARG002 - nobody hears
        raise OSError(121)


class FakePin:
    """A pin that keeps its level."""

    OUT = 1

    def __init__(self, name: object, mode: int = 0, value: int = 0) -> None:
        self.name, self.mode, self.level = name, mode, value
        self.toggles = 0

    def __call__(self, level: int) -> None:
        self.level = level

    def toggle(self) -> None:
        self.toggles += 1


class FakeSpi:
    """Every chip reads 25.00 degC, junction and couple."""

    def __init__(self, number: int, hz: int, **wires: object) -> None:
        self.number, self.hz, self.wires = number, hz, wires
        self.phase = wires["phase"]

    def init(self, baudrate: int, polarity: int, phase: int) -> None:
        assert (baudrate, polarity) == (self.hz, 0)
        self.phase = phase

    def write_readinto(self, tx: bytes, rx: bytearray) -> None:
        """Chips of phase 1 are the linearising one, set up as type T: 25 degC too."""
        if self.phase == 1:
            rx[:] = (b"\x00\x91\x07" + bytes(10) + b"\x01\x90\x00\x00")[: len(tx)]
        else:
            rx[:] = b"\x01\x90\x19\x00"[: len(tx)]


class FakeI2c:
    """A converter at 48h whose every input reads 3415h; nobody else is there."""

    def __init__(self, number: int, **wires: object) -> None:
        self.number, self.wires = number, wires
        self._registers = {0: b"\x34\x15", 1: b"\x85\x83"}
        self._pointer = 0

    def writeto(self, address: int, data: bytes, stop: bool) -> None:  # noqa: ARG002, FBT001 - as the board has it
        if address != 0x48:
            raise OSError(5)
        self._pointer = data[0]
        if len(data) > 1:
            self._registers[data[0]] = bytes(data[1:])

    def readfrom(self, address: int, count: int) -> bytes:
        assert address == 0x48
        return self._registers[self._pointer][:count]


class FakeAdc:
    """Reads a third of 5 V: 33096 of 65535 steps over 3.3 V."""

    def __init__(self, number: int) -> None:
        self.number = number

    def read_u16(self) -> int:
        return 33096


class FakeMachine:
    """The board's own module."""

    Pin, SPI, I2C, ADC = FakePin, FakeSpi, FakeI2c, FakeAdc

    def unique_id(self) -> bytes:
        return b"\xe6\x61\x4c\x77"


class FakeTime:
    """Ticks that wrap at 2^30, as the board's do."""

    def __init__(self, ticks: int) -> None:
        self._ticks = ticks

    def ticks_ms(self) -> int:
        return self._ticks % (1 << 30)

    def ticks_diff(self, later: int, earlier: int) -> int:
        half = 1 << 29
        return (later - earlier + half) % (1 << 30) - half

    def sleep_ms(self, passed_ms: int) -> None:
        self._ticks += passed_ms


class FakePoll:
    """Nobody types."""

    def poll(self, timeout_ms: int) -> list[object]:
        assert timeout_ms == 0
        return []


class Usb:
    """Keeps what the board sends."""

    def __init__(self) -> None:
        self.sent: list[bytes] = []

    def write(self, data: bytes) -> int:
        self.sent.append(bytes(data))
        return len(data)
