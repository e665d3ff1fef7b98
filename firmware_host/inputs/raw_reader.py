"""The seam of a polled port: one word for each of its sources, in their order, when asked."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Protocol

from firmware_host.config.schema import Bench, BenchChannel, Port, PortKind
from firmware_host.config.source_tables import Part, Source
from firmware_host.inputs.buses import SPI_MODES, Buses
from hardware.board.chips import (
    NOT_READ,
    Ads1115,
    Bmp280,
    Chip,
    Max31855,
    Max31856,
    Max31865,
    Mcp3208,
    read_raw,
)


class RawReader(Protocol):
    """Reads every raw of a port."""

    def read(self) -> list[str]:
        """Ask every part now; what a part does not answer is `-` or `!n` in its place.

        Raises LinkLostError when the port itself is gone.
        """

    def close(self) -> None:
        """Give the port back; a second call does nothing."""


class ChipReader:
    """Every chip of one bus of the computer's own."""

    def __init__(self, chips: Sequence[Chip], buses: Buses) -> None:
        self._chips = tuple(chips)
        self._buses = buses

    def read(self) -> list[str]:
        """See `RawReader`. A chip that does not answer takes no other with it."""
        return [read_raw(chip) for chip in self._chips]

    def close(self) -> None:
        """See `RawReader`."""
        self._buses.close()


def sources_at(bench: Bench, port: str) -> list[Source]:
    """Give the sources of one port in the order of their raws."""
    return sorted((s for s in bench.source if s.port == port), key=lambda one: one.index)


def open_chips(port: Port, bench: Bench, buses: Buses) -> ChipReader:
    """Open every chip of an SPI or I2C port.

    Raises InputError for a package or device that is missing, BusyError for one that is held.
    """
    return ChipReader(
        [_chip(port, source, bench, buses) for source in sources_at(bench, port.name)], buses
    )


def answered(raw: str) -> bool:
    """Whether a word came from its part, good or bad."""
    return raw != NOT_READ and not raw.startswith("!")


def _chip(port: Port, source: Source, bench: Bench, buses: Buses) -> Chip:
    if port.kind is PortKind.SPI:
        return _spi_chip(port, source, bench, buses)
    bus = buses.i2c(port.device, source.address or 0)
    if source.part is Part.BMP280:
        return Bmp280(bus)
    return Ads1115(bus, source.input, source.range_v)


def _spi_chip(port: Port, source: Source, bench: Bench, buses: Buses) -> Chip:
    bus = buses.spi(port.device, source.select, SPI_MODES[source.part])
    if source.part is Part.MAX31855:
        return Max31855(bus)
    if source.part is Part.MAX31856:
        return Max31856(bus, _couple_at(source, bench.channel))
    if source.part is Part.MAX31865:
        return Max31865(bus, source.wires)
    return Mcp3208(bus, int(source.input))


def _couple_at(source: Source, channels: Sequence[BenchChannel]) -> str:
    """Type of couple that the channel of this raw names; the chip is set up for it."""
    for channel in channels:
        if (channel.port, channel.index) == (source.port, source.index):
            return str(channel.couple)
    return "K"
