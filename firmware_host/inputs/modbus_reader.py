"""Gauges on a Modbus line: each register asked in turn, each misbehaviour told apart.

An answer names neither the register nor the moment it was asked for, so one that comes late would
pass for the next one's. After a silence the line is therefore heard out before anybody is asked
again. The library is an extra and is loaded when a bench file has such a port.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from contextlib import suppress
from importlib import import_module
from typing import Any

import serial

from firmware_host.config.schema import BenchChannel, ChannelKind, Port
from firmware_host.config.source_tables import Parity, Part, Source
from firmware_host.errors import InputError, LinkLostError
from firmware_host.inputs.transport import PORT_ERRORS, WRITE_TIMEOUT_S, refuse_port

NO_ANSWER, DAMAGED, REFUSED = "!1", "!2", "!3"
"""Driver errors: silence; a bad check sum, a short or a stranger's answer; the gauge said no."""
TIMEOUT_S = 0.2
"""Real time that a gauge may take; usual ones answer within 50 ms."""
QUIET_READS = 2
"""Time-outs of silence after which a late answer is no longer awaited."""
LATE_BYTES = 4096
SKIPPED_ROUNDS = 4
"""A silent gauge is asked every fifth round, so that it does not hold up the others."""
_PARITIES = {
    Parity.NONE: serial.PARITY_NONE,
    Parity.EVEN: serial.PARITY_EVEN,
    Parity.ODD: serial.PARITY_ODD,
}
_FUNCTIONS = {Part.HOLDING: 3, Part.INPUT: 4}
_ONE_REGISTER = (ChannelKind.U16, ChannelKind.I16)


class ModbusReader:
    """Every source of one Modbus line."""

    def __init__(
        self,
        port: Port,
        sources: Sequence[Source],
        channels: Sequence[BenchChannel],
        load: Callable[[str], Any] = import_module,
    ) -> None:
        """Open the line.

        Raises InputError where the package is missing, BusyError when another program holds the
        port, LinkLostError when it cannot be opened.
        """
        self._library = _library(port, load)
        self._device = port.device
        self._sources = tuple(sources)
        self._counts = [_registers(source, channels) for source in sources]
        self._resting: dict[int, int] = {}
        self._line = _opened(port)
        self._gauges = {unit: self._gauge(unit) for unit in {s.unit for s in sources}}

    def read(self) -> list[str]:
        """See `RawReader`."""
        resting = {unit for unit, rounds in self._resting.items() if rounds > 0}
        self._resting = {unit: self._resting[unit] - 1 for unit in resting}
        raws = []
        for source, count in zip(self._sources, self._counts, strict=True):
            silent = source.unit in resting or source.unit in self._resting
            raws.append(NO_ANSWER if silent else self._ask(source, count))
        return raws

    def close(self) -> None:
        """See `RawReader`."""
        with suppress(*PORT_ERRORS):
            self._line.close()

    def _gauge(self, unit: int) -> Any:  # noqa: ANN401 - of a package that is loaded late
        return self._library.Instrument(self._line, unit)

    def _ask(self, source: Source, count: int) -> str:
        library = self._library
        try:
            words = self._gauges[source.unit].read_registers(
                source.register, count, _FUNCTIONS[source.part]
            )
        except library.NoResponseError:
            self._resting[source.unit] = SKIPPED_ROUNDS
            self._hear_out()
            return NO_ANSWER
        except library.SlaveReportedException:
            return REFUSED
        except (library.MasterReportedException, ValueError):
            self._hear_out()
            return DAMAGED
        except PORT_ERRORS as error:
            raise self._lost(error) from error
        return "".join(f"{word:04X}" for word in words)

    def _hear_out(self) -> None:
        """Let late bytes come and go: what they answer is no longer known."""
        quiet = 0
        try:
            while quiet < QUIET_READS:
                quiet = 0 if self._line.read(LATE_BYTES) else quiet + 1
        except PORT_ERRORS as error:
            raise self._lost(error) from error

    def _lost(self, error: Exception) -> LinkLostError:
        return LinkLostError(f"{self._device} stopped answering ({error}). Check plug and cable.")


def _library(port: Port, load: Callable[[str], Any]) -> Any:  # noqa: ANN401 - a module
    try:
        return load("minimalmodbus")
    except ImportError as error:
        text = (
            f"{port.device} is a port of kind modbus, which needs the package minimalmodbus. "
            "Install it: pip install 'bagvigil[modbus]'."
        )
        raise InputError([text]) from error


def _opened(port: Port) -> serial.Serial:
    try:
        return serial.Serial(
            port.device,
            port.baud,
            parity=_PARITIES[port.parity],
            timeout=TIMEOUT_S,
            write_timeout=WRITE_TIMEOUT_S,
            exclusive=True,
        )
    except PORT_ERRORS as error:
        refuse_port(port.device, port.baud, error)


def _registers(source: Source, channels: Sequence[BenchChannel]) -> int:
    """Tell how many registers the number takes, by the kind of the channel that is made of it."""
    for channel in channels:
        if (channel.port, channel.index) == (source.port, source.index):
            return 1 if channel.kind in _ONE_REGISTER else 2
    return 1
