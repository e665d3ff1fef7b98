"""A line through two points, read and true, put into a transducer's own description. Pure."""

from __future__ import annotations

from dataclasses import dataclass

LEAST_SPAN_PA = 20000.0
"""Between the two points; nearer ones would turn their own error into a wrong slope."""
MOST_SLOPE = 1.2
MOST_ZERO_SHARE = 0.1
"""Of full scale. A transducer that is further off is the wrong one, or described wrongly."""


@dataclass(frozen=True, slots=True)
class Point:
    """What was read, and what it truly was, in Pa; of a gauge against the room, both against it."""

    read_pa: float
    true_pa: float


@dataclass(frozen=True, slots=True)
class Line:
    """True pressure = slope * reading + zero_pa."""

    slope: float
    zero_pa: float


def line_through(one: Point, other: Point, full_scale_pa: float) -> Line:
    """Return the line; ValueError where two points cannot give one that a transducer has.

    >>> line_through(Point(1000.0, 0.0), Point(101000.0, 100000.0), 100000.0)
    Line(slope=1.0, zero_pa=-1000.0)
    """
    span_pa = other.true_pa - one.true_pa
    if abs(span_pa) < LEAST_SPAN_PA or other.read_pa == one.read_pa:
        raise ValueError(
            f"the two points are {abs(span_pa) / 100.0:.0f} mbar apart "
            f"(at least {LEAST_SPAN_PA / 100.0:.0f})"
        )
    slope = span_pa / (other.read_pa - one.read_pa)
    line = Line(slope, one.true_pa - slope * one.read_pa)
    if not 1.0 / MOST_SLOPE <= slope <= MOST_SLOPE:
        raise ValueError(f"the slope would change {slope:.3f} times (at most {MOST_SLOPE})")
    if abs(line.zero_pa) > MOST_ZERO_SHARE * abs(full_scale_pa):
        raise ValueError(
            f"the zero would move by {line.zero_pa / 100.0:.0f} mbar "
            f"(at most {MOST_ZERO_SHARE * abs(full_scale_pa) / 100.0:.0f})"
        )
    return line


def corrected_transducer(
    line: Line, zero_fraction: float, span_fraction: float, full_scale_pa: float
) -> tuple[float, float]:
    """Return zero_fraction and full_scale_pa after which the transducer reads true.

    p = (x - zero) FS / span; slope p + b = (x - zero') slope FS / span.
    """
    corrected_pa = line.slope * full_scale_pa
    return zero_fraction - line.zero_pa * span_fraction / corrected_pa, corrected_pa


def volume_from_gulp_l(room_pa: float, before_pa: float, after_pa: float, gulp_l: float) -> float:
    """Return the volume of a shut bag that took a known gulp of room air.

    V = p_room V_gulp / (p_after - p_before): an isothermal ideal gas, wait until it has settled.

    >>> round(volume_from_gulp_l(100000.0, 5000.0, 7000.0, 0.06), 9)
    3.0
    """
    if after_pa - before_pa <= 0.0:
        raise ValueError("the pressure must rise when air is let in")
    return room_pa * gulp_l / (after_pa - before_pa)
