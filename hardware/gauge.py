"""A gauge's reading made absolute: what it reads against the room, and the room."""

from __future__ import annotations

from hardware.readings import FAULTY, Fault, Reading


def on_room(gauge_pa: float, room_pa: float | None, slack_pa: float) -> Reading:
    """Return Pa absolute; no reading without a room, nor further below it than nothing.

    `slack_pa` is how far below 0 Pa absolute the gauge's own error may take it.

    >>> on_room(-60000.0, 101300.0, 2500.0)
    Reading(value=41300.0, fault=None)
    """
    if room_pa is None:
        return FAULTY[Fault.NOT_READ]
    pressure_pa = room_pa + gauge_pa
    return FAULTY[Fault.OUT_OF_RANGE] if pressure_pa < -slack_pa else Reading(pressure_pa)
