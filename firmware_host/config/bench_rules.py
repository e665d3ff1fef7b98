"""Rules of bench.toml that join several keys: names, ports, positions, and keys that fit a kind."""

from __future__ import annotations

from typing import Any

from firmware_host.config.channel_rules import (
    Entry,
    check_cold_channels,
    check_gauges,
    check_keys,
    check_scale,
    check_unit,
    quantity_of,
)
from firmware_host.config.convert import Reading
from firmware_host.config.schema import BenchChannel, ChannelKind, Port, PortKind
from firmware_host.config.signal_tables import SignalTable
from firmware_host.config.source_rules import SourceEntry, check_channels
from firmware_host.config.toml_text import KeyPath
from firmware_host.config.wording import nearest, quoted, shown
from firmware_host.model.channels import Role, channel_named

ROLE_NAMES = tuple("part1" if role is Role.PART else str(role) for role in Role)
"""What a channel may be called, for a guess at what was meant."""


def ports_of(reading: Reading) -> list[Port]:
    """Every [[port]] that can be made, with names and devices checked."""
    entries = []
    for path, raw in reading.rows("port"):
        if (port := reading.build(path, raw, Port)) is not None:
            entries.append((path, port))
            _check_line(reading, path, port, raw)
    _check_unique(reading, [((*path, "name"), port.name) for path, port in entries])
    _check_unique(reading, [((*path, "device"), port.device) for path, port in entries])
    return [port for _, port in entries]


def _check_line(reading: Reading, path: KeyPath, port: Port, raw: dict[str, Any]) -> None:
    for key in ("baud", "parity"):
        serial = port.kind in (PortKind.BV1, PortKind.MODBUS)
        if key in raw and not (serial and (key == "baud" or port.kind is PortKind.MODBUS)):
            text = f"means nothing to a port of kind {port.kind}. Take the line out."
            reading.say_key((*path, key), raw[key], text)


def channels_of(
    reading: Reading, made_ports: list[Port], sources: list[SourceEntry]
) -> list[BenchChannel]:
    """Every [[channel]] that can be made, checked alone and against the others."""
    rows = list(reading.rows("channel"))
    built = [(path, raw, reading.build(path, raw, BenchChannel)) for path, raw in rows]
    entries = [(path, raw, channel) for path, raw, channel in built if channel is not None]
    ports = [row.get("name") for _, row in reading.rows("port")]
    for entry in entries:
        _check_port(reading, entry, [name for name in ports if isinstance(name, str)])
        _check_role(reading, entry)
        check_keys(reading, entry)
        check_scale(reading, entry)
        check_unit(reading, entry)
    _check_unique(reading, [((*path, "name"), channel.name) for path, _, channel in entries])
    _check_positions(reading, entries)
    check_cold_channels(reading, entries)
    check_gauges(reading, entries)
    check_channels(reading, made_ports, sources, entries)
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
    if not channel.kind.measures(role.quantity):
        wanted = [kind for kind in ChannelKind if kind.measures(role.quantity)]
        text = (
            f"does not measure a {role.quantity}, but {quoted(channel.name)} is one. "
            f"Use {', '.join(wanted)}, or another name."
        )
        reading.say_key((*path, "kind"), str(channel.kind), text)


def _tell_two_things(one: BenchChannel, other: BenchChannel) -> bool:
    """Whether one word serves both: that of the barometer chip tells pressure and warmth."""
    both = one.kind is other.kind is ChannelKind.BMP280
    return both and quantity_of(one) is not quantity_of(other)


def _check_positions(reading: Reading, entries: list[Entry]) -> None:
    taken: dict[tuple[str, int], BenchChannel] = {}
    for path, _, channel in entries:
        holder = taken.setdefault((channel.port, channel.index), channel)
        if holder is not channel and not _tell_two_things(holder, channel):
            text = f"is taken by {quoted(holder.name)} on the same port. Count the raws from 0."
            reading.say_key((*path, "index"), channel.index, text)
    for path, _, channel in entries:
        place = (channel.port, -1 if channel.supply_index is None else channel.supply_index)
        if place in taken:
            text = f"is the position of {quoted(taken[place].name)}. Name the supply's own raw."
            reading.say_key((*path, "supply_index"), channel.supply_index, text)


def check_signals(reading: Reading, signals: SignalTable | None) -> None:
    """Note every pin that two devices would share."""
    taken: dict[int, str] = {}
    for key, pin in ({} if signals is None else signals.pins).items():
        holder = taken.setdefault(pin, key)
        if holder != key:
            text = f"is that of {holder} too. Give one of them another pin."
            reading.say_key(("signals", key), pin, text)
