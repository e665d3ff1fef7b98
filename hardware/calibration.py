"""Counts of a ratiometric pressure transducer to Pa absolute, and back.

Pure. The reading is a fraction of the supply, so a supply that sags moves nothing. A count that
can only come from a broken lead, a clipped converter or beyond the transducer is no reading.
"""

from __future__ import annotations

from math import inf

from hardware.channels import COUNT_RANGES, AdcPressureSpec, Reference
from hardware.gauge import on_room
from hardware.readings import FAULTY, Fault, Reading

ADC12_STEPS = 4096
"""A 12-bit converter whose reference is the supply reads count / 4096 of it; MCP3208 sheet
DS21298E, equation 4-2 [from memory]."""
LEAST_SUPPLY_V = 2.0
"""Below this no transducer of the usual 3.3 V or 5 V kinds is running."""
LEAST_SUPPLY_SHARE = 1.0 / 16.0
"""Of the converter's top, where a count has no known voltage."""
OVERSHOOT_FRACTION = 0.025
"""Of full scale: a reading this far outside the transducer's range is still its own error."""
ROOM_FRACTION = 0.05
"""The same above full scale of an absolute transducer: one of 1 bar stands in a room that may be
at 1040 hPa, and says so long before its wire-fault limit."""
LIVE_FRACTION = 0.01
"""Of supply: how near the rail a live output comes when its line runs past the rail."""


class PressureScale:
    """One transducer's conversion, prepared once and used for every count."""

    def __init__(self, spec: AdcPressureSpec) -> None:
        self._spec = spec
        self._lowest_count, self._highest_count = COUNT_RANGES[spec.kind]
        self._pa_per_fraction = spec.full_scale_pa / spec.span_fraction
        self._least_fraction, self._most_fraction = _wire_limits(spec)
        self._overshoot_pa = OVERSHOOT_FRACTION * abs(spec.full_scale_pa)
        self._lowest_pa = min(0.0, spec.full_scale_pa) - self._overshoot_pa
        above = ROOM_FRACTION if spec.reference is Reference.ABSOLUTE else OVERSHOOT_FRACTION
        self._highest_pa = max(0.0, spec.full_scale_pa) + above * abs(spec.full_scale_pa)
        self._least_supply = _least_supply_count(spec)

    def read(
        self,
        count: int,
        supply_count: int | None = None,
        station_pressure_pa: float | None = None,
    ) -> Reading:
        """Turn a count into Pa absolute: p = (V / Vs - zero) / span * full scale.

        `station_pressure_pa` is the room's pressure for a gauge transducer; without it the
        description's own holds, and without either there is no reading. A value slightly below
        0 Pa stays as measured: clamping it would hide the transducer's zero error.
        """
        fraction = self._fraction(count, supply_count)
        if isinstance(fraction, Fault):
            return FAULTY[fraction]
        if not self._least_fraction <= fraction <= self._most_fraction:
            return FAULTY[Fault.OPEN]
        if count in (self._lowest_count, self._highest_count):
            return FAULTY[Fault.OUT_OF_RANGE]
        pressure_pa = (fraction - self._spec.zero_fraction) * self._pa_per_fraction
        if not self._lowest_pa <= pressure_pa <= self._highest_pa:
            return FAULTY[Fault.OUT_OF_RANGE]
        if self._spec.reference is Reference.ABSOLUTE:
            return Reading(pressure_pa)
        return self._absolute(pressure_pa, station_pressure_pa)

    def count(
        self,
        pressure_pa: float,
        *,
        supply_v: float = 5.0,
        station_pressure_pa: float | None = None,
    ) -> int:
        """Return the count that a pressure gives; a converter clips at its ends, and so does this.

        Raises ValueError where the description does not say what a count is in volts, or a gauge
        transducer has no room pressure.
        """
        spec = self._spec
        if spec.reference is Reference.GAUGE:
            pressure_pa -= self._station(station_pressure_pa)
        fraction = spec.zero_fraction + pressure_pa / self._pa_per_fraction
        count = round(fraction * supply_v / self._volts_per_count(supply_v))
        return min(max(count, self._lowest_count), self._highest_count)

    def supply_count(self, supply_v: float) -> int:
        """Return the count of the raw that measures the supply."""
        count = round(supply_v / self._volts_per_count(supply_v))
        return min(max(count, self._lowest_count), self._highest_count)

    def _fraction(self, count: int, supply_count: int | None) -> float | Fault:
        """Return the output as a fraction of the supply."""
        spec = self._spec
        if spec.supply_index is not None:
            if supply_count is None:
                return Fault.NOT_READ
            if not self._least_supply <= supply_count < self._highest_count:
                return Fault.OUT_OF_RANGE
            return count / supply_count
        if spec.volts_per_count is not None:
            return count * spec.volts_per_count / spec.supply_v
        return count / ADC12_STEPS

    def _absolute(self, gauge_pa: float, station_pressure_pa: float | None) -> Reading:
        if station_pressure_pa is None:
            station_pressure_pa = self._spec.station_pressure_pa
        return on_room(gauge_pa, station_pressure_pa, self._overshoot_pa)

    def _station(self, station_pressure_pa: float | None) -> float:
        if station_pressure_pa is None:
            station_pressure_pa = self._spec.station_pressure_pa
        if station_pressure_pa is None:
            raise ValueError("a gauge transducer needs station_pressure_pa to be encoded")
        return station_pressure_pa

    def _volts_per_count(self, supply_v: float) -> float:
        if self._spec.volts_per_count is not None:
            return self._spec.volts_per_count
        if self._spec.supply_index is not None:
            raise ValueError("a transducer with supply_index needs volts_per_count to be encoded")
        return supply_v / ADC12_STEPS


def _wire_limits(spec: AdcPressureSpec) -> tuple[float, float]:
    """Return the fractions of supply beyond which only a broken lead can drive the output.

    Half way from the end of the transducer's line to the rail: 0.25 V and 4.75 V for the usual
    0.5..4.5 V (common practice, no standard). A line that ends at the rail has no such limit, and
    a lead broken there reads as that end.
    """
    ends = (spec.zero_fraction, spec.zero_fraction + spec.span_fraction)
    lower, upper = min(ends), 1.0 - max(ends)
    return _half_way_to_rail(lower), 1.0 - _half_way_to_rail(upper)


def _half_way_to_rail(distance: float) -> float:
    if distance < 0.0:
        return LIVE_FRACTION
    return distance / 2.0 if distance > 0.0 else -inf


def _least_supply_count(spec: AdcPressureSpec) -> float:
    if spec.volts_per_count is not None:
        return LEAST_SUPPLY_V / spec.volts_per_count
    return COUNT_RANGES[spec.kind][1] * LEAST_SUPPLY_SHARE
