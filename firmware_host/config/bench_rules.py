"""Rules of bench.toml that join several keys: names, ports, positions, and keys that fit a kind."""

from __future__ import annotations

from typing import Any

from firmware_host.config.convert import Reading, field_names
from firmware_host.config.schema import BenchChannel, ChannelKind, Port, PortKind, PressureReference
from firmware_host.config.toml_text import KeyPath
from firmware_host.config.wording import nearest, quoted, shown
from firmware_host.model.channels import Quantity, Role, channel_named

LATER_PORT_KINDS = ("modbus", "spi", "i2c")
"""Words of the format for ports that this version does not read."""

_ADC_KEYS = frozenset(
    {
        "reference",
        "station_pressure_hpa",
        "volts_per_count",
        "supply_index",
        "supply_v",
        "zero_fraction",
        "span_fraction",
        "full_scale_pa",
    }
)
_COUPLE_KEYS = frozenset({"couple"})
_RTD_KEYS = frozenset({"reference_ohm", "zero_ohm"})

ROLE_NAMES = tuple("part1" if role is Role.PART else str(role) for role in Role)
"""What a channel may be called, for a guess at what was meant."""

Entry = tuple[KeyPath, dict[str, Any], BenchChannel]
"""Where a channel stands in the file, what the file gave, and the channel made of it."""


def ports_of(reading: Reading) -> list[Port]:
    """Every [[port]] that can be made, with names and devices checked."""
    entries = []
    for path, raw in reading.rows("port"):
        kind = raw.get("kind")
        if kind in LATER_PORT_KINDS:
            text = f"is not read by this version; use a board that speaks {PortKind.BV1}."
            reading.say_key((*path, "kind"), kind, text)
        elif (port := reading.build(path, raw, Port)) is not None:
            entries.append((path, port))
    _check_unique(reading, [((*path, "name"), port.name) for path, port in entries])
    _check_unique(reading, [((*path, "device"), port.device) for path, port in entries])
    return [port for _, port in entries]


def channels_of(reading: Reading) -> list[BenchChannel]:
    """Every [[channel]] that can be made, checked alone and against the others."""
    rows = list(reading.rows("channel"))
    built = [(path, raw, reading.build(path, raw, BenchChannel)) for path, raw in rows]
    entries = [(path, raw, channel) for path, raw, channel in built if channel is not None]
    ports = [row.get("name") for _, row in reading.rows("port")]
    for entry in entries:
        _check_port(reading, entry, [name for name in ports if isinstance(name, str)])
        _check_role(reading, entry)
        _check_keys(reading, entry)
        _check_scale(reading, entry)
    _check_unique(reading, [((*path, "name"), channel.name) for path, _, channel in entries])
    _check_positions(reading, entries)
    _check_gauges(reading, entries)
    return [channel for _, _, channel in entries]


def _check_unique(reading: Reading, named: list[tuple[KeyPath, str]]) -> None:
    first: dict[str, KeyPath] = {}
    for path, name in named:
        before = first.setdefault(name, path)
        if before is not path:
            line = reading.source.line_of(before)
            text = f"is used twice, first on line {line}. Give one of them another {path[-1]}."
            reading.say_key(path, name, text)


def _check_port(reading: Reading, entry: Entry, ports: list[str]) -> None:
    path, _, channel = entry
    if channel.port not in ports:
        known = f"the ports are {', '.join(map(shown, ports))}" if ports else "there is no [[port]]"
        text = f"names no port; {known}.{nearest(channel.port, ports)}"
        reading.say_key((*path, "port"), channel.port, text)


def _check_role(reading: Reading, entry: Entry) -> None:
    path, _, channel = entry
    try:
        role = channel_named(channel.name).role
    except ValueError:
        text = (
            "must be its role: bag, pump, barometer, part1, part2, ..., mould, shop or cup."
            f"{nearest(channel.name, ROLE_NAMES)}"
        )
        reading.say_key((*path, "name"), channel.name, text)
        return
    if channel.kind.is_adc != (role.quantity is Quantity.PRESSURE):
        wanted = [kind for kind in ChannelKind if kind.is_adc != channel.kind.is_adc]
        text = (
            f"does not measure a {role.quantity}, but {quoted(channel.name)} is one. "
            f"Use {', '.join(wanted)}, or another name."
        )
        reading.say_key((*path, "kind"), str(channel.kind), text)


def keys_of_kind(kind: ChannelKind) -> list[str]:
    """Keys that mean something to a channel of this kind."""
    if kind.is_adc:
        strange = _COUPLE_KEYS | _RTD_KEYS
    elif kind is ChannelKind.RTD31865:
        strange = _ADC_KEYS | _COUPLE_KEYS
    else:
        strange = _ADC_KEYS | _RTD_KEYS
    return [key for key in field_names(BenchChannel) if key not in strange]


def _check_keys(reading: Reading, entry: Entry) -> None:
    path, raw, channel = entry
    known = keys_of_kind(channel.kind)
    for key in raw:
        if key not in known:
            text = f"means nothing to the kind {channel.kind}. Take the line out."
            reading.say_key((*path, key), raw[key], text)


def _check_scale(reading: Reading, entry: Entry) -> None:
    path, _, channel = entry
    if channel.kind in (ChannelKind.ADC16S, ChannelKind.ADC24S) and channel.volts_per_count is None:
        text = (
            f"[[channel]] {quoted(channel.name)} of kind {channel.kind} has no volts_per_count. "
            "Add it: the converter's full scale in V over its largest count."
        )
        reading.say(path, text)
    for key in ("span_fraction", "full_scale_pa"):
        if channel.kind.is_adc and getattr(channel, key) == 0.0:
            reading.say_key((*path, key), 0.0, "must not be 0: no pressure could be told apart.")


def _check_positions(reading: Reading, entries: list[Entry]) -> None:
    taken: dict[tuple[str, int], str] = {}
    for path, _, channel in entries:
        holder = taken.setdefault((channel.port, channel.index), channel.name)
        if holder is not channel.name:
            text = f"is taken by {quoted(holder)} on the same port. Count the raws from 0."
            reading.say_key((*path, "index"), channel.index, text)
    for path, _, channel in entries:
        place = (channel.port, -1 if channel.supply_index is None else channel.supply_index)
        if place in taken:
            text = f"is the position of {quoted(taken[place])}. Name the supply's own raw."
            reading.say_key((*path, "supply_index"), channel.supply_index, text)


def _check_gauges(reading: Reading, entries: list[Entry]) -> None:
    has_barometer = any(channel.name.startswith(Role.BAROMETER) for _, _, channel in entries)
    for path, _, channel in entries:
        is_gauge = channel.kind.is_adc and channel.reference is PressureReference.GAUGE
        if is_gauge and channel.name.startswith(Role.BAROMETER):
            text = "cannot hold for a barometer; it is what the others are measured against."
            reading.say_key((*path, "reference"), "gauge", text)
        elif is_gauge and channel.station_pressure_hpa is None and not has_barometer:
            text = (
                "needs the room's pressure: add station_pressure_hpa (at the bench, not reduced "
                "to sea level) or a barometer channel."
            )
            reading.say_key((*path, "reference"), "gauge", text)
