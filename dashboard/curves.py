"""The job so far as two curves with the band in which each is wanted. Pure.

The bag is drawn on a logarithmic scale: a pump-down from 1000 mbar and a leak that takes 40 mbar to
60 are both to be seen. Nothing is drawn across a span in which nobody watched or nothing was known.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

from dashboard.shown import Curve
from dashboard.words import clock_at, degrees, mbar
from firmware_host.model.snapshot import Snapshot
from firmware_host.model.trend import Trend
from hardware.units import from_kelvin, from_pascal

LEAST_MBAR = 1.0
LEAST_SPAN_K = 4.0
GAP_STEPS = 1.5
_DECADES = (1.0, 10.0, 100.0, 1000.0)

Segments = tuple[tuple[tuple[float, float], ...], ...]


def bag_curve(snapshot: Snapshot, trend: Trend) -> Curve:
    """Draw the bag's pressure in mbar, logarithmic."""
    segments = _segments(trend, trend.bag_pa, _log_mbar)
    limit = _log_mbar(snapshot.view.pressure_limit_pa)
    values = [value for segment in segments for _, value in segment]
    low = math.floor(min([*values, limit]))
    high = max([*values, limit, 3.0]) + 0.05
    decades = [
        (math.log10(decade), f"{decade:.0f}")
        for decade in _DECADES
        if low <= math.log10(decade) <= high and abs(math.log10(decade) - limit) > 0.4
    ]
    labels = sorted([*decades, (limit, mbar(snapshot.view.pressure_limit_pa))])
    return _curve(
        f"bag, mbar, wanted below {mbar(snapshot.view.pressure_limit_pa)}",
        (segments, limit, low, high, labels),
        snapshot,
        trend,
    )


def laminate_curve(snapshot: Snapshot, trend: Trend) -> Curve:
    """Draw the laminate's temperature in degC; the limit shows once it comes near."""
    segments = _segments(trend, trend.laminate_k, _celsius)
    limit = _celsius(snapshot.view.highest_temperature_k)
    values = [value for segment in segments for _, value in segment] or [20.0]
    low, high = float(math.floor(min(values))), float(math.ceil(max(values)))
    high = max(high, low + LEAST_SPAN_K)
    near = high > limit - 0.25 * (high - low)
    high = max(high, limit + 1.0) if near else high
    labels = [(low, f"{low:.0f}"), (high, f"{high:.0f}")]
    if near:
        labels = [labels[0], (limit, f"{limit:.0f}")]
    return _curve(
        f"laminate, C, wanted below {_whole(snapshot.view.highest_temperature_k)}",
        (segments, limit if near else None, low, high, labels),
        snapshot,
        trend,
    )


def _curve(
    title: str,
    drawn: tuple[Segments, float | None, float, float, Sequence[tuple[float, str]]],
    snapshot: Snapshot,
    trend: Trend,
) -> Curve:
    segments, limit, low, high, labels = drawn
    start_s = trend.time_s[0] - trend.step_s if trend.time_s else 0.0
    end_s = max(trend.time_s[-1] if trend.time_s else 0.0, start_s + trend.step_s)
    times = (start_s, (start_s + end_s) / 2.0, end_s)
    return Curve(
        title=title,
        segments=segments,
        wanted_below=limit,
        low=low,
        high=high,
        labels=tuple(labels),
        start_s=start_s,
        end_s=end_s,
        time_labels=tuple((time_s, clock_at(snapshot.zero_wall, time_s)) for time_s in times),
    )


def _segments(
    trend: Trend, values: Sequence[float | None], scale: Callable[[float], float]
) -> Segments:
    segments: list[list[tuple[float, float]]] = [[]]
    last_s = -math.inf
    for time_s, value in zip(trend.time_s, values, strict=True):
        if segments[-1] and (value is None or time_s - last_s > GAP_STEPS * trend.step_s):
            segments.append([])
        if value is not None:
            segments[-1].append((time_s, scale(value)))
        last_s = time_s
    return tuple(tuple(segment) for segment in segments if segment)


def _log_mbar(pressure_pa: float) -> float:
    return math.log10(max(from_pascal(pressure_pa, "mbar"), LEAST_MBAR))


def _whole(temp_k: float) -> str:
    return degrees(temp_k).removesuffix(".0")


def _celsius(temp_k: float) -> float:
    return from_kelvin(temp_k, "degC")
