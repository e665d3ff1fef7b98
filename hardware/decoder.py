"""The raws of one sample line to values in SI, one entry per described channel.

Pure. Whatever the board sends, `PortDecoder` answers with a value or a fault and never raises;
a word that is not of its channel's kind is unreadable, never a wrong value.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial

from hardware.barometer import read_bmp280
from hardware.calibration import PressureScale
from hardware.channels import (
    COUNT_RANGES,
    AdcCoupleSpec,
    AdcPressureSpec,
    BarometerSpec,
    ChannelSpec,
    CoupleSpec,
    Kind,
    RegisterSpec,
    ResistanceSpec,
)
from hardware.readings import FAULTY, Fault, Reading
from hardware.registers import read_registers
from hardware.resistance import read_rtd31865
from hardware.thermocouple import couple_temperature, read_tc31855, read_tc31856

_COUNT = re.compile(r"-?[0-9]{1,8}")
_DRIVER_ERROR = re.compile(r"![0-9]{1,8}")

Read = Callable[[Sequence[str], float | None], Reading]
"""All raws of a line and the room's pressure, to one channel's reading."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ChannelAt:
    """One described channel and where its raw stands."""

    name: str
    index: int
    spec: ChannelSpec

    def __post_init__(self) -> None:
        if self.index < 0:
            raise ValueError(f"channel {self.name}: index {self.index} must be 0 or above")


class PortDecoder:
    """Every described channel of one port."""

    def __init__(self, channels: Sequence[ChannelAt]) -> None:
        self._channels = tuple(channels)
        self._reads = tuple(_reader(channel) for channel in channels)

    def decode(
        self, raws: Sequence[str], station_pressure_pa: float | None = None
    ) -> tuple[tuple[float | None, ...], tuple[Fault | None, ...]]:
        """Return a value or None for each channel, and a fault for each None.

        `station_pressure_pa` is the room's pressure for gauge transducers, where it is measured.
        """
        readings = [read(raws, station_pressure_pa) for read in self._reads]
        return (
            tuple([reading.value for reading in readings]),
            tuple([reading.fault for reading in readings]),
        )

    def agrees(self, hello_kinds: Sequence[str]) -> list[str]:
        """Return, in words for the bench, where a board's hello is not what was described."""
        problems = []
        for channel in self._channels:
            for key, index, kind in _raws_of(channel):
                problem = _disagreement(kind, index, hello_kinds)
                if problem:
                    problems.append(f"channel {channel.name}: {key} = {index}: {problem}")
        return problems


def _raws_of(channel: ChannelAt) -> list[tuple[str, int, Kind]]:
    """Every raw that a channel needs: the bench file's key, the position, and its kind."""
    spec = channel.spec
    needed = [("index", channel.index, spec.kind)]
    if isinstance(spec, AdcPressureSpec) and spec.supply_index is not None:
        needed.append(("supply_index", spec.supply_index, spec.kind))
    if isinstance(spec, AdcCoupleSpec):
        needed.append(("cold_channel", spec.cold_index, spec.cold.kind))
    return needed


def _disagreement(kind: Kind, index: int, hello_kinds: Sequence[str]) -> str | None:
    if index >= len(hello_kinds):
        return (
            f"the board sends {len(hello_kinds)} raws, counted from 0; "
            "correct the index or the board's firmware"
        )
    if hello_kinds[index] != kind:
        return (
            f"the bench file says {kind}, the board says {hello_kinds[index]!r}; "
            "correct the kind or the index"
        )
    return None


def _reader(channel: ChannelAt) -> Read:
    spec = channel.spec
    if isinstance(spec, AdcPressureSpec):
        return partial(_read_pressure, channel.index, spec, PressureScale(spec))
    if isinstance(spec, RegisterSpec):
        return partial(_read_registers, channel.index, spec)
    if isinstance(spec, AdcCoupleSpec):
        cold = partial(_read_word, spec.cold_index, _word_reader(spec.cold))
        return partial(_read_couple, channel.index, spec, cold)
    return partial(_read_word, channel.index, _word_reader(spec))


def _word_reader(spec: CoupleSpec | ResistanceSpec | BarometerSpec) -> Callable[[str], Reading]:
    if isinstance(spec, ResistanceSpec):
        return lambda word: read_rtd31865(word, spec.reference_ohm, spec.zero_ohm)
    if isinstance(spec, BarometerSpec):
        return partial(read_bmp280, temperature=spec.temperature)
    read = read_tc31855 if spec.kind is Kind.TC31855 else read_tc31856
    return partial(read, couple=spec.couple)


def _read_word(
    index: int,
    read: Callable[[str], Reading],
    raws: Sequence[str],
    station_pressure_pa: float | None,  # noqa: ARG001 - one signature for every kind
) -> Reading:
    if index >= len(raws):
        return FAULTY[Fault.NOT_READ]
    reading = read(raws[index])
    if reading.fault is Fault.UNREADABLE:
        return FAULTY[_spoken_fault(raws[index])]
    return reading


def _read_pressure(
    index: int,
    spec: AdcPressureSpec,
    scale: PressureScale,
    raws: Sequence[str],
    station_pressure_pa: float | None,
) -> Reading:
    count = _count(spec.kind, index, raws)
    if isinstance(count, Fault):
        return FAULTY[count]
    if spec.supply_index is None:
        return scale.read(count, None, station_pressure_pa)
    supply_count = _count(spec.kind, spec.supply_index, raws)
    if isinstance(supply_count, Fault):
        return FAULTY[supply_count]
    return scale.read(count, supply_count, station_pressure_pa)


def _read_registers(
    index: int, spec: RegisterSpec, raws: Sequence[str], station_pressure_pa: float | None
) -> Reading:
    if index >= len(raws):
        return FAULTY[Fault.NOT_READ]
    reading = read_registers(raws[index], spec, station_pressure_pa)
    return FAULTY[_spoken_fault(raws[index])] if reading.fault is Fault.UNREADABLE else reading


def _read_couple(
    index: int,
    spec: AdcCoupleSpec,
    read_cold: Read,
    raws: Sequence[str],
    station_pressure_pa: float | None,
) -> Reading:
    count = _count(spec.kind, index, raws)
    if isinstance(count, Fault):
        return FAULTY[count]
    if count in COUNT_RANGES[spec.kind]:
        return FAULTY[Fault.OPEN]  # a pull-up drives an open couple to the converter's end
    cold = read_cold(raws, station_pressure_pa)
    if cold.value is None:
        return cold
    return couple_temperature(count * spec.volts_per_count, cold.value, spec.couple)


def _count(kind: Kind, index: int, raws: Sequence[str]) -> int | Fault:
    """Read one converter count, which must be one that its kind can give."""
    if index >= len(raws):
        return Fault.NOT_READ
    raw = raws[index]
    if _COUNT.fullmatch(raw) is None:
        return _spoken_fault(raw)
    count = int(raw)
    lowest, highest = COUNT_RANGES[kind]
    return count if lowest <= count <= highest else Fault.UNREADABLE


def _spoken_fault(raw: str) -> Fault:
    """Tell what the board itself says of a raw that is no word."""
    if raw == "-":
        return Fault.NOT_READ
    return Fault.DRIVER if _DRIVER_ERROR.fullmatch(raw) else Fault.UNREADABLE
