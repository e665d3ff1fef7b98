"""The bench file's channels as one port's group and its conversion to values on the model's grids.

The hardware's descriptions stand alone; here the bench file is turned into them and their answers
into the model's words.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from firmware_host.config.schema import Bench, BenchChannel, Port
from firmware_host.config.source_tables import WordOrder
from firmware_host.errors import InputError
from firmware_host.model.channels import Quantity, Role, channel_named
from firmware_host.model.samples import (
    PRESSURE_GRID,
    TEMPERATURE_GRID,
    Frame,
    Group,
    Reason,
    on_grid,
)
from hardware.channels import (
    AdcCoupleSpec,
    AdcPressureSpec,
    BarometerSpec,
    ChannelSpec,
    Couple,
    CoupleSpec,
    Kind,
    Reference,
    RegisterSpec,
    ResistanceSpec,
)
from hardware.decoder import ChannelAt, PortDecoder

PA_PER_HPA = 100.0
BAROMETER_HOLDS_MS = 3_600_000
"""Room pressure moves some hPa an hour at most; past this the bench file's figure is no worse."""


class PortChannels:
    """What hangs on one port, and what its raws mean."""

    def __init__(self, port: Port, channels: Sequence[BenchChannel], period_s: float) -> None:
        """Prepare every conversion. Raises InputError for a channel that cannot measure."""
        named = [
            replace(channel_named(channel.name), lowest_pa=channel.lowest_pa)
            for channel in channels
        ]
        self.group = Group(port.name, tuple(named), period_s)
        self._places = [_place(channel, channels) for channel in channels]
        self._decoder = PortDecoder(self._places)
        self._grids = [
            PRESSURE_GRID if channel.role.quantity is Quantity.PRESSURE else TEMPERATURE_GRID
            for channel in named
        ]
        roles = [channel.role for channel in named]
        self._barometer = roles.index(Role.BAROMETER) if Role.BAROMETER in roles else None
        self._refused: frozenset[int] = frozenset()
        self._room_pa: float | None = None
        self._room_ms = 0

    def check(self, kinds: Sequence[str]) -> list[str]:
        """Compare with a board's hello; a channel that differs is unreadable from now on.

        Returns the differences, in words for the bench.
        """
        problems = [PortDecoder([place]).agrees(kinds) for place in self._places]
        self._refused = frozenset(index for index, found in enumerate(problems) if found)
        return [problem for found in problems for problem in found]

    def refuse_all(self) -> None:
        """Read nothing: the board speaks another language."""
        self._refused = frozenset(range(len(self._places)))

    @property
    def reads_any(self) -> bool:
        """Whether any channel is left to read."""
        return len(self._refused) < len(self._places)

    def frame(self, raws: Sequence[str], number: int, time_ms: int) -> Frame:
        """Convert one sample line; `number` is the group's."""
        room_pa = self._room(raws, time_ms)
        values, faults = self._decoder.decode(raws, room_pa)
        reasons = [None if fault is None else Reason(fault.value) for fault in faults]
        gridded = [
            None if value is None else on_grid(value, grid)
            for value, grid in zip(values, self._grids, strict=True)
        ]
        for index in self._refused:
            gridded[index], reasons[index] = None, Reason.UNREADABLE
        return Frame(time_ms / 1000.0, number, tuple(gridded), tuple(reasons))

    def _room(self, raws: Sequence[str], time_ms: int) -> float | None:
        """Newest believed room pressure of this port, the present line's included."""
        if self._barometer is None or self._barometer in self._refused:
            return None
        (value,), _ = PortDecoder([self._places[self._barometer]]).decode(raws)
        if value is not None:
            self._room_pa, self._room_ms = value, time_ms
        elif time_ms - self._room_ms > BAROMETER_HOLDS_MS:
            self._room_pa = None
        return self._room_pa


def channels_by_port(bench: Bench) -> list[PortChannels]:
    """Every port of a bench that has channels, in the bench file's order.

    Raises InputError with every channel that cannot measure.
    """
    problems: list[str] = []
    ports: list[PortChannels] = []
    for port in bench.port:
        channels = [channel for channel in bench.channel if channel.port == port.name]
        try:
            ports += [PortChannels(port, channels, bench.bench.period_s)] if channels else []
        except InputError as error:
            problems += error.problems
    if problems:
        raise InputError(problems)
    return ports


def _place(channel: BenchChannel, channels: Sequence[BenchChannel]) -> ChannelAt:
    try:
        return ChannelAt(name=channel.name, index=channel.index, spec=_spec(channel, channels))
    except ValueError as error:
        raise InputError(
            [f"channel {channel.name}: {error}. Correct it in the bench file."]
        ) from error


def _spec(channel: BenchChannel, channels: Sequence[BenchChannel]) -> ChannelSpec:
    kind = Kind(channel.kind.value)
    quantity = channel_named(channel.name).role.quantity
    if channel.kind.is_register:
        return _register_spec(channel, kind)
    if channel.kind.is_adc and quantity is Quantity.PRESSURE:
        return _pressure_spec(channel, kind)
    if channel.kind.is_adc:
        return _adc_couple_spec(channel, kind, channels)
    return _word_spec(channel, kind, quantity)


def _word_spec(
    channel: BenchChannel, kind: Kind, quantity: Quantity
) -> CoupleSpec | ResistanceSpec | BarometerSpec:
    if kind is Kind.RTD31865:
        return ResistanceSpec(reference_ohm=channel.reference_ohm, zero_ohm=channel.zero_ohm)
    if kind is Kind.BMP280:
        return BarometerSpec(temperature=quantity is Quantity.TEMPERATURE)
    return CoupleSpec(kind=kind, couple=Couple(channel.couple.value))


def _adc_couple_spec(
    channel: BenchChannel, kind: Kind, channels: Sequence[BenchChannel]
) -> AdcCoupleSpec:
    cold = next((one for one in channels if one.name == channel.cold_channel), None)
    if cold is None or cold.kind.is_adc or cold.kind.is_register or channel.volts_per_count is None:
        raise ValueError("a couple on a converter needs volts_per_count and a cold_channel")
    return AdcCoupleSpec(
        kind=kind,
        volts_per_count=channel.volts_per_count,
        couple=Couple(channel.couple.value),
        cold_index=cold.index,
        cold=_word_spec(cold, Kind(cold.kind.value), Quantity.TEMPERATURE),
    )


def _pressure_spec(channel: BenchChannel, kind: Kind) -> AdcPressureSpec:
    return AdcPressureSpec(
        kind=kind,
        volts_per_count=channel.volts_per_count,
        supply_v=channel.supply_v,
        supply_index=channel.supply_index,
        zero_fraction=channel.zero_fraction,
        span_fraction=channel.span_fraction,
        full_scale_pa=channel.full_scale_pa,
        reference=Reference(channel.reference.value),
        station_pressure_pa=_station_pa(channel),
    )


def _register_spec(channel: BenchChannel, kind: Kind) -> RegisterSpec:
    return RegisterSpec(
        kind=kind,
        unit=channel.unit or "",
        scale=channel.scale,
        offset=channel.offset,
        low_word_first=channel.word_order is WordOrder.LOW_FIRST,
        full_scale_pa=channel.full_scale_pa,
        reference=Reference(channel.reference.value),
        station_pressure_pa=_station_pa(channel),
    )


def _station_pa(channel: BenchChannel) -> float | None:
    station_hpa = channel.station_pressure_hpa
    return None if station_hpa is None else station_hpa * PA_PER_HPA
