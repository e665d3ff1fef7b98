"""Every kind of port alike to the composition root: claimed ahead of the job, then read.

`claim` opens what can be opened before a job is begun, so that a port that somebody holds, a
package or a bus that is missing is named at once; a port with a plug is left to its reader, which
waits for it.
"""

from __future__ import annotations

import threading
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass
from typing import Protocol

from firmware_host.config.schema import Bench, Port, PortKind
from firmware_host.errors import LinkLostError
from firmware_host.inputs.buses import Buses, SystemBuses
from firmware_host.inputs.bv1_port import Bv1Port
from firmware_host.inputs.messages import PortMessage
from firmware_host.inputs.modbus_reader import ModbusReader
from firmware_host.inputs.polled_port import PolledPort
from firmware_host.inputs.port_channels import PortChannels
from firmware_host.inputs.raw_reader import RawReader, open_chips, sources_at
from firmware_host.inputs.timeline import Timeline
from firmware_host.inputs.transport import PortOpener


class PortThread(Protocol):
    """A reader at work."""

    @property
    def is_alive(self) -> bool:
        """Whether the thread runs."""

    def start(self) -> None:
        """Begin to read."""

    def join(self) -> None:
        """Wait for the end that the stop event has asked for."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Shell:
    """What every reader needs of the daemon around it."""

    timeline: Timeline
    stop: threading.Event
    put: Callable[[PortMessage], None]
    died: Callable[[str, str], None]


class ClaimedPort(Protocol):
    """One port of the bench file, ours from `claim` to `close`."""

    def claim(self) -> None:
        """Open ahead of the job. Raises BusyError, or InputError for what is not installed."""

    def close(self) -> None:
        """Give back what nobody took over."""

    def reader(self, number: int, channels: PortChannels, shell: Shell) -> PortThread:
        """Prepare the port's thread; `number` is the group's."""


class Bv1Claim:
    """A board on a serial line."""

    def __init__(self, port: Port) -> None:
        self._port = port
        self._opener = PortOpener(port.device, port.baud)

    def claim(self) -> None:
        """See `ClaimedPort`."""
        self._opener.claim()

    def close(self) -> None:
        """See `ClaimedPort`."""
        self._opener.close()

    def reader(self, number: int, channels: PortChannels, shell: Shell) -> PortThread:
        """See `ClaimedPort`."""
        return Bv1Port(
            self._port,
            number,
            channels,
            timeline=shell.timeline,
            stop=shell.stop,
            put=shell.put,
            died=shell.died,
            open_transport=self._opener,
        )


class PolledClaim:
    """A bus of the computer's own, or a line of gauges."""

    def __init__(self, open_reader: Callable[[], RawReader]) -> None:
        self._open_reader = open_reader
        self._claimed: RawReader | None = None

    def claim(self) -> None:
        """See `ClaimedPort`."""
        with suppress(LinkLostError):
            self._claimed = self._open_reader()

    def close(self) -> None:
        """See `ClaimedPort`."""
        if self._claimed is not None:
            self._claimed.close()

    def reader(self, number: int, channels: PortChannels, shell: Shell) -> PortThread:
        """See `ClaimedPort`."""
        return PolledPort(
            number,
            channels,
            timeline=shell.timeline,
            stop=shell.stop,
            put=shell.put,
            died=shell.died,
            open_reader=self._take,
        )

    def _take(self) -> RawReader:
        claimed, self._claimed = self._claimed, None
        return claimed or self._open_reader()


def port_of(port: Port, bench: Bench, buses: Callable[[], Buses] = SystemBuses) -> ClaimedPort:
    """Prepare a port by its kind; nothing is opened before `claim`. `buses` gives SPI and I2C."""
    if port.kind is PortKind.BV1:
        return Bv1Claim(port)
    return PolledClaim(lambda: open_raws(port, bench, buses))


def open_raws(port: Port, bench: Bench, buses: Callable[[], Buses] = SystemBuses) -> RawReader:
    """Open a polled port. Raises what `RawReader`s raise when they are opened."""
    if port.kind is PortKind.MODBUS:
        return ModbusReader(port, sources_at(bench, port.name), bench.channel)
    return open_chips(port, bench, buses())
