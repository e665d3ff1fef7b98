"""Rows of a log as text of contract 2 (RFC 4180), with every digit of the record's grid.

Pure. Pressures in Pa with one decimal, temperatures in degC with three: what is read back lies on
the same step of the grid.
"""

from __future__ import annotations

from collections.abc import Sequence

from firmware_host.model.channels import Channel, Quantity
from firmware_host.model.samples import PRESSURE_GRID, TEMPERATURE_GRID
from firmware_host.outputs.log_rows import LogRow
from hardware.units import ZERO_CELSIUS_K

_ZERO_CELSIUS_STEPS = round(ZERO_CELSIUS_K * TEMPERATURE_GRID)
_MS = 1000


def head_line(channels: Sequence[Channel]) -> str:
    """Name the columns.

    >>> from firmware_host.model.channels import channel_named
    >>> head_line([channel_named("bag"), channel_named("part1")])
    'time_s,bag:Pa,part1:degC,mark'
    """
    titles = (f"{channel.name}:{_unit(channel)}" for channel in channels)
    return ",".join(("time_s", *titles, "mark"))


def row_line(row: LogRow, channels: Sequence[Channel]) -> str:
    """Write one row.

    >>> from firmware_host.model.channels import channel_named
    >>> channels = [channel_named("bag"), channel_named("part1"), channel_named("shop")]
    >>> row_line(LogRow(time_ms=1500, steps=(10003, 293149, None)), channels)
    '1.500,1000.3,19.999,,'
    """
    cells = (_cell(step, channel) for step, channel in zip(row.steps, channels, strict=True))
    return ",".join((_decimal(row.time_ms, _MS), *cells, ";".join(row.marks)))


def _unit(channel: Channel) -> str:
    return "Pa" if channel.role.quantity is Quantity.PRESSURE else "degC"


def _cell(steps: int | None, channel: Channel) -> str:
    if steps is None:
        return ""
    if channel.role.quantity is Quantity.PRESSURE:
        return _decimal(steps, PRESSURE_GRID)
    return _decimal(steps - _ZERO_CELSIUS_STEPS, TEMPERATURE_GRID)


def _decimal(steps: int, per_unit: int) -> str:
    whole, rest = divmod(abs(steps), per_unit)
    return f"{'-' if steps < 0 else ''}{whole}.{rest:0{len(str(per_unit)) - 1}d}"
