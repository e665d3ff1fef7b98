"""Exact conversions between the units of people and SI: the only place that knows inHg or degF.

Pure arithmetic: whether a pressure is plausible is for others to say. Factors are those of NIST
SP 811 (2008), appendix B.8, each built from its definition.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from types import MappingProxyType

ZERO_CELSIUS_K = 273.15
"""0 degC, exact by definition."""

_MERCURY_KG_PER_M3 = 13595.1
"""Conventional density of mercury at 0 degC."""
_STANDARD_GRAVITY_M_PER_S2 = 9.80665
_INCH_M = 0.0254

PASCALS_PER_UNIT: Mapping[str, float] = MappingProxyType(
    {
        "Pa": 1.0,
        "hPa": 100.0,
        "kPa": 1000.0,
        "mbar": 100.0,
        "inHg": _INCH_M * _MERCURY_KG_PER_M3 * _STANDARD_GRAVITY_M_PER_S2,
        "Torr": 101325.0 / 760.0,
    }
)
"""Every pressure unit, with what one of it is in Pa."""

_KELVIN_LINES: Mapping[str, tuple[float, float]] = MappingProxyType(
    {"K": (1.0, 0.0), "degC": (1.0, ZERO_CELSIUS_K), "degF": (1.8, 459.67)}
)
"""Degrees of the scale in one kelvin; degrees from absolute zero up to the scale's own zero."""

PRESSURE_UNITS = tuple(PASCALS_PER_UNIT)
TEMPERATURE_UNITS = tuple(_KELVIN_LINES)


def to_pascal(value: float, unit: str) -> float:
    """Turn a pressure in one of `PRESSURE_UNITS` into Pa.

    >>> round(to_pascal(29.92, "inHg"), 1)
    101320.7
    """
    return _finite(value, unit) * _pascals_per(unit)


def from_pascal(pressure_pa: float, unit: str) -> float:
    """Turn Pa into one of `PRESSURE_UNITS`.

    >>> from_pascal(101325.0, "Torr")
    760.0
    """
    return _finite(pressure_pa, "Pa") / _pascals_per(unit)


def to_kelvin(value: float, unit: str) -> float:
    """Turn a temperature in one of `TEMPERATURE_UNITS` into K.

    >>> round(to_kelvin(77.0, "degF"), 9)
    298.15
    """
    degrees_per_kelvin, zero = _kelvin_line(unit)
    return (_finite(value, unit) + zero) / degrees_per_kelvin


def from_kelvin(temp_k: float, unit: str) -> float:
    """Turn K into one of `TEMPERATURE_UNITS`.

    >>> from_kelvin(273.15, "degC")
    0.0
    """
    degrees_per_kelvin, zero = _kelvin_line(unit)
    return _finite(temp_k, "K") * degrees_per_kelvin - zero


def unit_named_in(words: str) -> str:
    """Find the first pressure unit that a person's words name; mbar where they name none.

    A rate such as Pa/s names no unit that people read a gauge in.

    >>> unit_named_in("1 inHg in 5 min"), unit_named_in("3.3 Pa/s")
    ('inHg', 'mbar')
    """
    for word in words.split():
        if word in PASCALS_PER_UNIT:
            return word
    return "mbar"


def depth_words(pressure_pa: float, room_pa: float | None, unit: str) -> str:
    """Say how deep a vacuum is, in a person's unit: inHg below the room, others absolute.

    Without the room's pressure inHg below it cannot be told, and mbar stand in.

    >>> depth_words(1251.0, 101325.0, "inHg"), depth_words(1251.0, None, "inHg")
    ('29.6 inHg vacuum', '13 mbar abs')
    """
    if unit == "inHg" and room_pa is not None:
        return f"{from_pascal(max(room_pa - pressure_pa, 0.0), unit):.1f} inHg vacuum"
    shown = "mbar" if unit == "inHg" else unit
    value = from_pascal(pressure_pa, shown)
    digits = 0 if abs(value) >= 9.95 else 1 if abs(value) >= 0.995 else 2
    return f"{value:.{digits}f} {shown} abs"


def _pascals_per(unit: str) -> float:
    try:
        return PASCALS_PER_UNIT[unit]
    except KeyError:
        raise ValueError(
            f"unit {unit!r} is no pressure unit; use one of {', '.join(PRESSURE_UNITS)}"
        ) from None


def _kelvin_line(unit: str) -> tuple[float, float]:
    try:
        return _KELVIN_LINES[unit]
    except KeyError:
        raise ValueError(
            f"unit {unit!r} is no temperature unit; use one of {', '.join(TEMPERATURE_UNITS)}"
        ) from None


def _finite(value: float, unit: str) -> float:
    if not math.isfinite(value):
        raise ValueError(f"{value} {unit} is not a number; a missing value stays blank")
    return value
