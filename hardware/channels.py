"""What hangs on each raw of a port: transducer, couple, resistance element, barometer, register.

A description that cannot measure anything is a ValueError naming the field; everything after
that is the board's doing and never raises.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum

from hardware.units import PRESSURE_UNITS, TEMPERATURE_UNITS


class Kind(StrEnum):
    """What a raw word is; the bench file says it and the board's hello must agree."""

    ADC12 = "adc12"
    ADC16S = "adc16s"
    ADC24S = "adc24s"
    TC31855 = "tc31855"
    TC31856 = "tc31856"
    RTD31865 = "rtd31865"
    BMP280 = "bmp280"
    U16 = "u16"
    I16 = "i16"
    U32 = "u32"
    I32 = "i32"
    F32 = "f32"


REGISTER_KINDS = (Kind.U16, Kind.I16, Kind.U32, Kind.I32, Kind.F32)
"""What Modbus registers hold; the last three take two."""


class Couple(StrEnum):
    """Thermocouple types that the host re-linearises."""

    K = "K"
    J = "J"
    T = "T"


class Reference(StrEnum):
    """What a transducer measures against."""

    ABSOLUTE = "absolute"
    GAUGE = "gauge"


COUNT_RANGES = {
    Kind.ADC12: (0, 4095),
    Kind.ADC16S: (-(1 << 15), (1 << 15) - 1),
    Kind.ADC24S: (-(1 << 23), (1 << 23) - 1),
}
"""Lowest and highest count of each converter; at either end it may have been driven beyond."""


@dataclass(frozen=True, slots=True, kw_only=True)
class AdcPressureSpec:
    """A ratiometric transducer on a converter.

    The output is (zero_fraction + span_fraction * p / full_scale_pa) of the supply. What the
    supply is, is known in one of three ways: `supply_index` names the raw that measured it with
    the same converter; else `volts_per_count` and a steady `supply_v`; else an `adc12` whose
    reference is the supply itself, so that the fraction is count / 4096.
    """

    kind: Kind
    volts_per_count: float | None = None
    supply_v: float = 5.0
    """Read only where `volts_per_count` is given and `supply_index` is not."""
    supply_index: int | None = None
    zero_fraction: float = 0.10
    span_fraction: float = 0.80
    full_scale_pa: float = 100000.0
    """Below 0 for a vacuum gauge that counts downwards."""
    reference: Reference = Reference.ABSOLUTE
    station_pressure_pa: float | None = None
    """Room pressure for a gauge transducer when nothing measures it."""

    def __post_init__(self) -> None:
        if self.kind not in COUNT_RANGES:
            raise ValueError(f"kind {self.kind!r} is no converter; use adc12, adc16s or adc24s")
        _above_zero("supply_v", self.supply_v)
        for name in ("volts_per_count", "station_pressure_pa"):
            if (value := getattr(self, name)) is not None:
                _above_zero(name, value)
        self._check_line()
        self._check_supply()

    def _check_line(self) -> None:
        for name in ("zero_fraction", "span_fraction", "full_scale_pa"):
            if not math.isfinite(getattr(self, name)):
                raise ValueError(f"{name} = {getattr(self, name)} is not a number")
        for name in ("span_fraction", "full_scale_pa"):
            if getattr(self, name) == 0.0:
                raise ValueError(f"{name} = 0 would make every pressure look alike")

    def _check_supply(self) -> None:
        if self.supply_index is not None and self.supply_index < 0:
            raise ValueError(f"supply_index = {self.supply_index} must be 0 or above")
        if self.kind is Kind.ADC12 or self.supply_index is not None:
            return
        if self.volts_per_count is None:
            raise ValueError(f"{self.kind} needs volts_per_count, or supply_index")


@dataclass(frozen=True, slots=True, kw_only=True)
class CoupleSpec:
    """A thermocouple on its converter chip."""

    kind: Kind
    couple: Couple = Couple.K

    def __post_init__(self) -> None:
        if self.kind not in (Kind.TC31855, Kind.TC31856):
            raise ValueError(f"kind {self.kind!r} reads no couple; use tc31855 or tc31856")
        if self.couple not in tuple(Couple):
            raise ValueError(f"couple {self.couple!r} is none of K, J, T")


@dataclass(frozen=True, slots=True, kw_only=True)
class ResistanceSpec:
    """A platinum element on its converter chip."""

    kind: Kind = Kind.RTD31865
    reference_ohm: float = 400.0
    """The resistor beside the chip, against which it measures."""
    zero_ohm: float = 100.0
    """The element at 0 degC."""

    def __post_init__(self) -> None:
        if self.kind is not Kind.RTD31865:
            raise ValueError(f"kind {self.kind!r} reads no element; use rtd31865")
        _above_zero("reference_ohm", self.reference_ohm)
        _above_zero("zero_ohm", self.zero_ohm)
        if self.zero_ohm >= self.reference_ohm:
            raise ValueError(
                f"zero_ohm = {self.zero_ohm} must be below reference_ohm = {self.reference_ohm}"
            )


@dataclass(frozen=True, slots=True, kw_only=True)
class BarometerSpec:
    """The barometer chip: the room's pressure, or how warm the chip itself is."""

    kind: Kind = Kind.BMP280
    temperature: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class AdcCoupleSpec:
    """A thermocouple straight on a converter, its cold junction measured by another raw."""

    kind: Kind
    volts_per_count: float
    couple: Couple = Couple.K
    cold_index: int
    """The raw of what measures the terminals where the couple's wires end."""
    cold: CoupleSpec | ResistanceSpec | BarometerSpec
    """What that raw is."""

    def __post_init__(self) -> None:
        if self.kind not in COUNT_RANGES or self.kind is Kind.ADC12:
            raise ValueError(f"kind {self.kind!r} is too coarse for a couple; use adc16s or adc24s")
        _above_zero("volts_per_count", self.volts_per_count)
        if isinstance(self.cold, BarometerSpec) and not self.cold.temperature:
            raise ValueError("the cold junction is measured in degrees, not in Pa")


@dataclass(frozen=True, slots=True, kw_only=True)
class RegisterSpec:
    """One number in the registers of a Modbus gauge."""

    kind: Kind
    unit: str
    scale: float = 1.0
    """The number times this, plus `offset`, is the value in `unit`."""
    offset: float = 0.0
    low_word_first: bool = False
    full_scale_pa: float = 100000.0
    """A pressure's range, from 0; below 0 for a vacuum gauge that counts downwards."""
    reference: Reference = Reference.ABSOLUTE
    station_pressure_pa: float | None = None

    def __post_init__(self) -> None:
        if self.kind not in REGISTER_KINDS:
            raise ValueError(f"kind {self.kind!r} is no register; use u16, i16, u32, i32 or f32")
        if self.unit not in (*PRESSURE_UNITS, *TEMPERATURE_UNITS):
            known = ", ".join((*PRESSURE_UNITS, *TEMPERATURE_UNITS))
            raise ValueError(f"unit {self.unit!r} is none of {known}")
        for name in ("scale", "offset", "full_scale_pa"):
            if not math.isfinite(getattr(self, name)):
                raise ValueError(f"{name} = {getattr(self, name)} is not a number")
        if self.scale == 0.0:
            raise ValueError("scale = 0 would make every reading look alike")


ChannelSpec = (
    AdcPressureSpec | CoupleSpec | ResistanceSpec | BarometerSpec | AdcCoupleSpec | RegisterSpec
)


def _above_zero(name: str, value: float) -> None:
    if not (math.isfinite(value) and value > 0.0):
        raise ValueError(f"{name} = {value} must be above 0")
