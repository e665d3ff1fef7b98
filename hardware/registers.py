"""Modbus registers to Pa or K, and back: the number in them, its scale and its unit.

Raw: the registers' bytes in hex, 4 digits each, in the order in which they came. Modbus itself
says nothing of numbers longer than 16 bits, so which word goes first is the description's.
Pure; no raw raises, and what is no number has no value.
"""

from __future__ import annotations

import math
import struct
from string import hexdigits

from hardware.channels import Kind, Reference, RegisterSpec
from hardware.gauge import on_room
from hardware.readings import FAULTY, Fault, Reading
from hardware.units import PRESSURE_UNITS, from_kelvin, from_pascal, to_kelvin, to_pascal

FORMATS = {Kind.U16: ">H", Kind.I16: ">h", Kind.U32: ">I", Kind.I32: ">i", Kind.F32: ">f"}
"""Big-endian within a word, as the application protocol V1.1b3, section 4.2, has it."""
OVERSHOOT_FRACTION = 0.025
ROOM_FRACTION = 0.05
"""Of full scale: how far outside its range a gauge's own error may take it; as for transducers."""


def read_registers(raw: str, spec: RegisterSpec, room_pa: float | None) -> Reading:
    """Turn registers into Pa absolute or K."""
    number = _number(raw, spec)
    if number is None:
        return FAULTY[Fault.UNREADABLE]
    said = number * spec.scale + spec.offset
    if not math.isfinite(said):
        return FAULTY[Fault.UNREADABLE]
    if spec.unit in PRESSURE_UNITS:
        return _pressure(to_pascal(said, spec.unit), spec, room_pa)
    temp_k = to_kelvin(said, spec.unit)
    return Reading(temp_k) if temp_k > 0.0 else FAULTY[Fault.OUT_OF_RANGE]


def register_raw(value: float, spec: RegisterSpec, room_pa: float | None = None) -> str:
    """Return what a gauge answers for Pa absolute or K; whole numbers stop at their ends.

    Raises ValueError for a gauge against the room without a room.
    """
    said = from_pascal(value, spec.unit) if spec.unit in PRESSURE_UNITS else _degrees(value, spec)
    if spec.reference is Reference.GAUGE:
        room_pa = spec.station_pressure_pa if room_pa is None else room_pa
        if room_pa is None:
            raise ValueError("a gauge against the room needs station_pressure_pa to be encoded")
        said -= from_pascal(room_pa, spec.unit)
    number = (said - spec.offset) / spec.scale
    layout = FORMATS[spec.kind]
    packed = struct.pack(layout, number if spec.kind is Kind.F32 else _whole(number, spec.kind))
    return _swapped(packed, spec).hex().upper()


def _number(raw: str, spec: RegisterSpec) -> float | None:
    layout = FORMATS[spec.kind]
    if len(raw) != 2 * struct.calcsize(layout) or not set(hexdigits).issuperset(raw):
        return None
    (number,) = struct.unpack(layout, _swapped(bytes.fromhex(raw), spec))
    return float(number)


def _swapped(data: bytes, spec: RegisterSpec) -> bytes:
    """Bring the high word to the front, or back; the same move both ways."""
    return data[2:] + data[:2] if spec.low_word_first else data


def _pressure(pressure_pa: float, spec: RegisterSpec, room_pa: float | None) -> Reading:
    scale_pa = abs(spec.full_scale_pa)
    slack_pa = OVERSHOOT_FRACTION * scale_pa
    is_gauge = spec.reference is Reference.GAUGE
    lowest_pa = min(0.0, spec.full_scale_pa) - slack_pa
    highest_pa = max(0.0, spec.full_scale_pa) + (slack_pa if is_gauge else ROOM_FRACTION * scale_pa)
    if not lowest_pa <= pressure_pa <= highest_pa:
        return FAULTY[Fault.OUT_OF_RANGE]
    if not is_gauge:
        return Reading(pressure_pa)
    return on_room(pressure_pa, spec.station_pressure_pa if room_pa is None else room_pa, slack_pa)


def _degrees(temp_k: float, spec: RegisterSpec) -> float:
    return from_kelvin(temp_k, spec.unit)


def _whole(number: float, kind: Kind) -> int:
    bits = 8 * struct.calcsize(FORMATS[kind])
    lowest = -(1 << bits - 1) if kind in (Kind.I16, Kind.I32) else 0
    return min(max(round(number), lowest), lowest + (1 << bits) - 1)
