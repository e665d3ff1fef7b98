"""Times and numbers as the bench says them. Pure."""

from __future__ import annotations

from datetime import datetime, timedelta

from hardware.units import from_kelvin, from_pascal

NOT_KNOWN = "--"
LONGEST_BIG = 5
"""Characters that fit into half of 80 columns as big numerals."""


def spoken(name: str) -> str:
    """Say a name of the contracts: underscores are spaces."""
    return name.replace("_", " ")


def span(seconds: float) -> str:
    """Say a duration, to the resolution that matters.

    >>> [span(7.9), span(90.0), span(3900.0)]
    ['7 s', '1 min', '1 h 05 min']
    """
    whole = max(int(seconds), 0)
    if whole < 60:
        return f"{whole} s"
    if whole < 3600:
        return f"{whole // 60} min"
    return f"{whole // 3600} h {whole % 3600 // 60:02d} min"


def minutes_seconds(seconds: float) -> str:
    """Give minutes and seconds; hours and minutes where that would be too long.

    >>> [minutes_seconds(65.0), minutes_seconds(5999.0), minutes_seconds(6000.0)]
    ['1:05', '99:59', '1:40']
    """
    whole = max(int(seconds), 0)
    if whole < 6000:
        return f"{whole // 60}:{whole % 60:02d}"
    return hours_minutes(seconds)


def hours_minutes(seconds: float) -> str:
    """Give hours and minutes.

    >>> hours_minutes(3900.0)
    '1:05'
    """
    whole = max(int(seconds), 0)
    return f"{whole // 3600}:{whole % 3600 // 60:02d}"


def clock_at(zero_wall: str, time_s: float) -> str:
    """Give the time of day of a moment of the job.

    >>> clock_at("2026-03-01T08:00:00+01:00", 3900.0)
    '09:05'
    """
    try:
        return f"{datetime.fromisoformat(zero_wall) + timedelta(seconds=time_s):%H:%M}"
    except (ValueError, OverflowError):
        return "--:--"


def mbar(pressure_pa: float) -> str:
    """Give a pressure in whole mbar; tenths below 10.

    >>> [mbar(4890.0), mbar(512.0)]
    ['49', '5.1']
    """
    value = from_pascal(pressure_pa, "mbar")
    return f"{value:.1f}" if abs(value) < 9.95 else f"{value:.0f}"


def degrees(temp_k: float) -> str:
    """Give a temperature in degC, to a tenth."""
    return f"{from_kelvin(temp_k, 'degC'):.1f}"


def digits(text: str | None) -> str:
    """Give what the big numerals show: '--' where nothing is known or it does not fit."""
    return text if text is not None and len(text) <= LONGEST_BIG else NOT_KNOWN
