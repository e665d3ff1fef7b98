"""Rules of [[source]]: each raw of a polled port once, by a part that fits port and channel."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from firmware_host.config.channel_rules import Entry as ChannelEntry
from firmware_host.config.convert import Reading
from firmware_host.config.schema import BenchChannel, ChannelKind, Port, PortKind
from firmware_host.config.source_tables import Part, Source
from firmware_host.config.toml_text import KeyPath
from firmware_host.config.wording import nearest, quoted, shown
from hardware.board.registers import ADS1115_INPUTS, ADS1115_RANGES

SourceEntry = tuple[KeyPath, dict[str, Any], Source]

PARTS: dict[PortKind, tuple[Part, ...]] = {
    PortKind.BV1: (),
    PortKind.SPI: (Part.MCP3208, Part.MAX31855, Part.MAX31856, Part.MAX31865),
    PortKind.I2C: (Part.ADS1115, Part.BMP280),
    PortKind.MODBUS: (Part.HOLDING, Part.INPUT),
}
REGISTER_KINDS = tuple(kind for kind in ChannelKind if kind.is_register)
KINDS: dict[Part, tuple[ChannelKind, ...]] = {
    Part.MCP3208: (ChannelKind.ADC12,),
    Part.MAX31855: (ChannelKind.TC31855,),
    Part.MAX31856: (ChannelKind.TC31856,),
    Part.MAX31865: (ChannelKind.RTD31865,),
    Part.ADS1115: (ChannelKind.ADC16S,),
    Part.BMP280: (ChannelKind.BMP280,),
    Part.HOLDING: REGISTER_KINDS,
    Part.INPUT: REGISTER_KINDS,
}
"""What the raws of each part are."""
KEYS: dict[Part, tuple[str, ...]] = {
    Part.MCP3208: ("select", "input"),
    Part.MAX31855: ("select",),
    Part.MAX31856: ("select",),
    Part.MAX31865: ("select", "wires"),
    Part.ADS1115: ("address", "input", "range_v"),
    Part.BMP280: ("address",),
    Part.HOLDING: ("unit", "register"),
    Part.INPUT: ("unit", "register"),
}
_EVERY_KEY = ("port", "index", "part")
_INPUTS = {Part.MCP3208: tuple("01234567"), Part.ADS1115: tuple(ADS1115_INPUTS)}
_STEPS = 32768
_STEP_TOLERANCE = 0.01
"""Between a channel's volts_per_count and its source's range; they differ by a factor of 2."""


def sources_of(reading: Reading, ports: list[Port]) -> list[SourceEntry]:
    """Every [[source]] that can be made, checked alone and against the others."""
    rows = list(reading.rows("source"))
    built = [(path, raw, reading.build(path, raw, Source)) for path, raw in rows]
    entries = [(path, raw, source) for path, raw, source in built if source is not None]
    by_name = {port.name: port for port in ports}
    for entry in entries:
        _check_port(reading, entry, by_name)
        _check_keys(reading, entry)
        _check_reach(reading, entry)
    _check_places(reading, entries)
    _check_shared(reading, entries)
    return entries


def check_channels(
    reading: Reading, ports: list[Port], sources: list[SourceEntry], channels: list[ChannelEntry]
) -> None:
    """Note every channel of a polled port whose raws no source gives, or one of another kind."""
    polled = {port.name for port in ports if port.kind.is_polled}
    given = {(source.port, source.index): source for _, _, source in sources}
    for path, _, channel in channels:
        if channel.port not in polled:
            continue
        for key, index in _raws_of(channel):
            source = given.get((channel.port, index))
            if source is None:
                text = f"has no [[source]] with index = {index} on port {quoted(channel.port)}."
                reading.say_key((*path, key), index, text)
            elif channel.kind not in KINDS[source.part]:
                text = f"is read from the part {source.part}, which gives {_kinds(source.part)}."
                reading.say_key((*path, "kind"), str(channel.kind), text)
            else:
                _check_step(reading, path, channel, source)


def _raws_of(channel: BenchChannel) -> Iterator[tuple[str, int]]:
    yield "index", channel.index
    if channel.supply_index is not None:
        yield "supply_index", channel.supply_index


def _check_step(reading: Reading, path: KeyPath, channel: BenchChannel, source: Source) -> None:
    if source.part is not Part.ADS1115 or channel.volts_per_count is None:
        return
    step_v = source.range_v / _STEPS
    if abs(channel.volts_per_count / step_v - 1.0) > _STEP_TOLERANCE:
        text = f"does not fit range_v = {source.range_v} of its source: that is {step_v:.7g} V."
        reading.say_key((*path, "volts_per_count"), channel.volts_per_count, text)


def _check_port(reading: Reading, entry: SourceEntry, ports: dict[str, Port]) -> None:
    path, _, source = entry
    port = ports.get(source.port)
    if port is None:
        text = f"names no port that can be read.{nearest(source.port, ports)}"
        reading.say_key((*path, "port"), source.port, text)
    elif port.kind is PortKind.BV1:
        text = "is a board, which says itself what its raws are. Take this [[source]] out."
        reading.say_key((*path, "port"), source.port, text)
    elif source.part not in PARTS[port.kind]:
        text = f"does not hang on {port.kind}; there it is one of {', '.join(PARTS[port.kind])}."
        reading.say_key((*path, "part"), str(source.part), text)


def _check_keys(reading: Reading, entry: SourceEntry) -> None:
    path, raw, source = entry
    for key in raw:
        if key not in (*_EVERY_KEY, *KEYS[source.part]):
            text = f"means nothing to the part {source.part}. Take the line out."
            reading.say_key((*path, key), raw[key], text)
    for key in ("address", "register"):
        if key in KEYS[source.part] and getattr(source, key) is None:
            text = f"[[source]] of part {source.part} has no {key}. Add a line {key} = ..."
            reading.say(path, text)


def _check_reach(reading: Reading, entry: SourceEntry) -> None:
    path, _, source = entry
    inputs = _INPUTS.get(source.part, (source.input,))
    if source.input not in inputs:
        text = f"must be one of {', '.join(inputs)} on {source.part}."
        reading.say_key((*path, "input"), source.input, text)
    if source.part is Part.ADS1115 and source.range_v not in ADS1115_RANGES:
        text = f"must be one of {', '.join(map(str, ADS1115_RANGES))}."
        reading.say_key((*path, "range_v"), source.range_v, text)


def _check_places(reading: Reading, entries: list[SourceEntry]) -> None:
    """Hold each port's raws to 0, 1, 2, ... without a gap."""
    for port in dict.fromkeys(source.port for _, _, source in entries):
        here = [(path, source) for path, _, source in entries if source.port == port]
        seen: set[int] = set()
        for path, source in here:
            if source.index in seen or source.index >= len(here):
                text = f"must be one of 0 to {len(here) - 1}, each once, on port {shown(port)}."
                reading.say_key((*path, "index"), source.index, text)
            seen.add(source.index)


def _check_shared(reading: Reading, entries: list[SourceEntry]) -> None:
    """Hold each chip-select and each address to one part."""
    parts: dict[tuple[str, str, int], Part] = {}
    for path, _, source in entries:
        key = "select" if "select" in KEYS[source.part] else "address"
        number = source.select if key == "select" else source.address
        if key not in KEYS[source.part] or number is None:
            continue
        holder = parts.setdefault((source.port, key, number), source.part)
        if holder is not source.part:
            text = f"is that of the {holder}; no {source.part} can answer there too."
            reading.say_key((*path, key), number, text)


def _kinds(part: Part) -> str:
    return " or ".join(KINDS[part])
