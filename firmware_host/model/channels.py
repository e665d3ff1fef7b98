"""Channels by name and role. A channel's name begins with its role: `part1`, `bag`, `shop`."""

from __future__ import annotations

import re
from dataclasses import dataclass
from enum import StrEnum


class Quantity(StrEnum):
    """What a channel measures."""

    PRESSURE = "pressure"
    TEMPERATURE = "temperature"


class Role(StrEnum):
    """Where a channel sits on the bench."""

    BAG = "bag"
    """Absolute pressure in the bag, at the part."""
    PUMP = "pump"
    """Absolute pressure at the pump side."""
    BAROMETER = "barometer"
    """Room pressure, absolute."""
    PART = "part"
    """Laminate temperature; the only role that comes in numbers: part1, part2, ..."""
    MOULD = "mould"
    SHOP = "shop"
    """Ambient temperature."""
    CUP = "cup"
    """Left-over resin."""

    @property
    def quantity(self) -> Quantity:
        """Pressure for the first three, temperature for the rest."""
        if self in (Role.BAG, Role.PUMP, Role.BAROMETER):
            return Quantity.PRESSURE
        return Quantity.TEMPERATURE


@dataclass(frozen=True, slots=True)
class Channel:
    """One measured thing, named as in the bench file or the log."""

    name: str
    role: Role
    lowest_pa: float | None = None
    """Of a pressure: absolute, below it the gauge's maker promises nothing."""


_NAME = re.compile(r"(bag|pump|barometer|part|mould|shop|cup)([0-9]*)")


def channel_named(name: str) -> Channel:
    """Read the role off a channel's name.

    Raises ValueError for a name that begins with no role, or a `part` without its number.

    >>> channel_named("part2").role
    <Role.PART: 'part'>
    """
    match = _NAME.fullmatch(name)
    if match is None or (match[1] == "part") != bool(match[2]):
        raise ValueError(
            f"channel {name!r} is none of bag, pump, barometer, part1, part2, ..., mould, shop, cup"
        )
    return Channel(name, Role(match[1]))
