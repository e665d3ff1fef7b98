"""[[source]] of the bench file: which chip, input or register gives each raw of a port.

A board with firmware says by itself what its raws are. A bus of the computer's own cannot, so each
raw is written down: its place, the part that gives it, and how the part is reached.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import Annotated

from msgspec import Meta


class Part(StrEnum):
    """What gives a raw."""

    MCP3208 = "mcp3208"
    MAX31855 = "max31855"
    MAX31856 = "max31856"
    MAX31865 = "max31865"
    ADS1115 = "ads1115"
    BMP280 = "bmp280"
    HOLDING = "holding_register"
    INPUT = "input_register"


class Parity(StrEnum):
    """Check bit of a serial line."""

    NONE = "none"
    EVEN = "even"
    ODD = "odd"


class WordOrder(StrEnum):
    """Which of two registers holds the upper half of a number."""

    HIGH_FIRST = "high_first"
    LOW_FIRST = "low_first"


@dataclass(frozen=True, slots=True, kw_only=True)
class Source:
    """[[source]]. Which of the keys matter depends on the part."""

    port: str
    index: Annotated[int, Meta(ge=0, le=63)]
    """Position among the port's raws; a channel's `index` names it."""
    part: Part
    select: Annotated[int, Meta(ge=0, le=15)] = 0
    """spi: the chip-select."""
    address: Annotated[int, Meta(ge=3, le=119)] | None = None
    """i2c: 7 bits, as a number; 0x48 is TOML too."""
    input: Annotated[str, Meta(min_length=1, max_length=3)] = "0"
    """Converters: which input, or which pair."""
    range_v: Annotated[float, Meta(gt=0.0, le=10.0)] = 6.144
    """ads1115: the largest voltage of its range."""
    wires: Annotated[int, Meta(ge=2, le=4)] = 4
    """max31865: wires that the element hangs on."""
    unit: Annotated[int, Meta(ge=1, le=247)] = 1
    """Registers: the gauge's address on its line."""
    register: Annotated[int, Meta(ge=0, le=65535)] | None = None
    """Registers: as it is sent, counted from 0."""
