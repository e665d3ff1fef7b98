"""The computer's own buses, over packages that only pretend."""

from __future__ import annotations

import errno
from typing import Any

import pytest

from firmware_host.errors import BusyError, InputError
from firmware_host.inputs.buses import SystemBuses


class FakeSpiDev:
    """What spidev gives, with the bytes it was handed."""

    refusal: OSError | None = None

    def __init__(self) -> None:
        self.path = ""
        self.max_speed_hz = self.mode = 0
        self.sent: list[list[int]] = []
        self.closed = False

    def open_path(self, path: str) -> None:
        if self.refusal is not None:
            raise self.refusal
        self.path = path

    def xfer2(self, data: list[int]) -> list[int]:
        self.sent.append(data)
        return [255 - byte for byte in data]

    def close(self) -> None:
        self.closed = True


class FakeMessage:
    """One half of an I2C transaction."""

    def __init__(self, address: int, data: list[int], count: int) -> None:
        self.address, self.data, self.count = address, data, count

    @staticmethod
    def write(address: int, data: list[int]) -> FakeMessage:
        return FakeMessage(address, data, 0)

    @staticmethod
    def read(address: int, count: int) -> FakeMessage:
        return FakeMessage(address, [0] * count, count)

    def __iter__(self) -> Any:  # noqa: ANN401 - as the package has it
        return iter(self.data)


class FakeSmBus:
    """What smbus2 gives; answers 34h 15h and keeps what passed."""

    def __init__(self, device: str) -> None:
        if device == "/dev/none":
            raise FileNotFoundError(errno.ENOENT, "No such file or directory")
        self.device = device
        self.log: list[tuple[int, str, list[int]]] = []
        self.closed = False

    def i2c_rdwr(self, *messages: FakeMessage) -> None:
        for message in messages:
            if message.count:
                message.data = [0x34, 0x15][: message.count]
            word = "R" if message.count else "W"
            self.log.append((message.address, word, list(message.data)))

    def close(self) -> None:
        self.closed = True


class Packages:
    """Gives pretended packages by name."""

    i2c_msg = FakeMessage

    def __init__(self) -> None:
        self.spis: list[FakeSpiDev] = []
        self.i2cs: list[FakeSmBus] = []

    def __call__(self, name: str) -> Packages:
        assert name in ("spidev", "smbus2")
        return self

    def SpiDev(self) -> FakeSpiDev:  # noqa: N802 - as the package has it
        self.spis.append(FakeSpiDev())
        return self.spis[-1]

    def SMBus(self, device: str) -> FakeSmBus:  # noqa: N802 - as the package has it
        self.i2cs.append(FakeSmBus(device))
        return self.i2cs[-1]


def test_spi_clocks_bytes_out_and_in_at_the_chips_mode() -> None:
    packages = Packages()
    buses = SystemBuses(packages)
    bus = buses.spi("/dev/spidev0", 1, 1)
    assert bus.xfer(b"\x06\x40\x00") == b"\xf9\xbf\xff"
    (opened,) = packages.spis
    assert (opened.path, opened.mode, opened.max_speed_hz) == ("/dev/spidev0.1", 1, 1_000_000)
    assert opened.sent == [[0x06, 0x40, 0x00]]


def test_inputs_of_one_chip_share_its_chip_select() -> None:
    packages = Packages()
    buses = SystemBuses(packages)
    buses.spi("/dev/spidev0", 0, 0)
    buses.spi("/dev/spidev0", 0, 0)
    buses.spi("/dev/spidev0", 1, 0)
    assert [one.path for one in packages.spis] == ["/dev/spidev0.0", "/dev/spidev0.1"]


def test_i2c_writes_and_reads_in_one_transaction() -> None:
    packages = Packages()
    buses = SystemBuses(packages)
    bus = buses.i2c("/dev/i2c-1", 0x48)
    assert bus.xfer(b"\x01\xc1\x83", 0) == b""
    assert bus.xfer(b"\x00", 2) == b"\x34\x15"
    buses.i2c("/dev/i2c-1", 0x76)
    (opened,) = packages.i2cs
    assert opened.log == [(0x48, "W", [1, 0xC1, 0x83]), (0x48, "W", [0]), (0x48, "R", [0x34, 0x15])]


def test_every_bus_is_given_back_once() -> None:
    packages = Packages()
    buses = SystemBuses(packages)
    buses.spi("/dev/spidev0", 0, 0)
    buses.i2c("/dev/i2c-1", 0x48)
    buses.close()
    buses.close()
    assert packages.spis[0].closed and packages.i2cs[0].closed


@pytest.mark.parametrize(("kind", "package"), [("spi", "spidev"), ("i2c", "smbus2")])
def test_a_missing_package_is_named_with_what_to_install(kind: str, package: str) -> None:
    def load(name: str) -> Any:  # noqa: ANN401 - never returns
        raise ImportError(name)

    buses = SystemBuses(load)
    with pytest.raises(InputError, match=rf"the package {package}. Install it: pip install 'bagv"):
        buses.spi("/dev/spidev0", 0, 0) if kind == "spi" else buses.i2c("/dev/i2c-1", 0x48)


@pytest.mark.parametrize(
    ("code", "message"),
    [
        (errno.ENOENT, "/dev/spidev0.3 cannot be opened .* Switch SPI on and check device and sel"),
        (errno.EACCES, "/dev/spidev0.3 cannot be opened .* Add the user to the device's group"),
    ],
)
def test_a_chip_select_that_cannot_be_opened_is_named(
    code: int, message: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(FakeSpiDev, "refusal", OSError(code, "refused"))
    with pytest.raises(InputError, match=message):
        SystemBuses(Packages()).spi("/dev/spidev0", 3, 0)


def test_a_chip_select_that_is_held_is_a_matter_of_waiting(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(FakeSpiDev, "refusal", OSError(errno.EBUSY, "busy"))
    with pytest.raises(BusyError, match=r"/dev/spidev0\.3 is held by another program"):
        SystemBuses(Packages()).spi("/dev/spidev0", 3, 0)


def test_an_i2c_bus_that_is_not_there_is_named() -> None:
    with pytest.raises(InputError, match="/dev/none cannot be opened .* Switch I2C on"):
        SystemBuses(Packages()).i2c("/dev/none", 0x48)
