"""Rules of [[channel]] that join several keys: keys that fit its kind, scale, unit, junction."""

from __future__ import annotations

from typing import Any

from firmware_host.config.channel_keys import keys_of_kind
from firmware_host.config.convert import Reading
from firmware_host.config.schema import BenchChannel, ChannelKind, PressureReference
from firmware_host.config.toml_text import KeyPath
from firmware_host.config.wording import nearest, quoted
from firmware_host.model.channels import Quantity, Role, channel_named
from hardware.units import PRESSURE_UNITS, TEMPERATURE_UNITS

Entry = tuple[KeyPath, dict[str, Any], BenchChannel]
"""Where a channel stands in the file, what the file gave, and the channel made of it."""

COLD_KINDS = (ChannelKind.RTD31865, ChannelKind.BMP280)
"""What may measure the terminals of a couple on a converter."""


def check_keys(reading: Reading, entry: Entry) -> None:
    """Note every key that means nothing to the channel's kind."""
    path, raw, channel = entry
    known = keys_of_kind(channel.kind, quantity_of(channel))
    for key in raw:
        if key not in known:
            text = f"means nothing to the kind {channel.kind}. Take the line out."
            if channel.kind.is_adc and quantity_of(channel) is Quantity.TEMPERATURE:
                text = "means nothing to a couple on a converter. Take the line out."
            reading.say_key((*path, key), raw[key], text)


def check_scale(reading: Reading, entry: Entry) -> None:
    """Note a scale by which no reading could be told from another."""
    path, _, channel = entry
    if channel.kind in (ChannelKind.ADC16S, ChannelKind.ADC24S) and channel.volts_per_count is None:
        text = (
            f"[[channel]] {quoted(channel.name)} of kind {channel.kind} has no volts_per_count. "
            "Add it: the converter's full scale in V over its largest count."
        )
        reading.say(path, text)
    known = keys_of_kind(channel.kind, quantity_of(channel))
    for key in ("span_fraction", "full_scale_pa", "scale"):
        if key in known and getattr(channel, key) == 0.0:
            what = "pressure" if key != "scale" else "reading"
            reading.say_key((*path, key), 0.0, f"must not be 0: no {what} could be told apart.")


def check_unit(reading: Reading, entry: Entry) -> None:
    """Note registers whose unit is missing or of another quantity."""
    path, _, channel = entry
    if not channel.kind.is_register:
        return
    is_pressure = quantity_of(channel) is Quantity.PRESSURE
    fitting = PRESSURE_UNITS if is_pressure else TEMPERATURE_UNITS
    if channel.unit is None:
        text = f"[[channel]] {quoted(channel.name)} has no unit. Add one of {', '.join(fitting)}."
        reading.say(path, text)
    elif channel.unit not in fitting:
        text = f"must be one of {', '.join(fitting)}.{nearest(channel.unit, fitting)}"
        reading.say_key((*path, "unit"), channel.unit, text)


def check_cold_channels(reading: Reading, entries: list[Entry]) -> None:
    """Note couples on a converter whose junction nothing on their port measures."""
    measuring = {
        (channel.port, channel.name)
        for _, _, channel in entries
        if channel.kind in COLD_KINDS and quantity_of(channel) is Quantity.TEMPERATURE
    }
    for path, _, channel in entries:
        if not channel.kind.is_adc or quantity_of(channel) is Quantity.PRESSURE:
            continue
        known = sorted(name for port, name in measuring if port == channel.port)
        able = f"there: {', '.join(known)}" if known else "add one of rtd31865 or bmp280"
        if channel.cold_channel is None:
            text = (
                f"[[channel]] {quoted(channel.name)} on {channel.kind} has no cold_channel. Name "
                f"the channel of the same port that measures where its wires end; {able}."
            )
            reading.say(path, text)
        elif channel.cold_channel not in known:
            text = f"names no channel of its port that measures its terminals; {able}."
            reading.say_key((*path, "cold_channel"), channel.cold_channel, text)


def check_gauges(reading: Reading, entries: list[Entry]) -> None:
    """Note gauges against a room whose pressure nobody knows."""
    has_barometer = any(channel.name.startswith(Role.BAROMETER) for _, _, channel in entries)
    for path, _, channel in entries:
        reads_it = "reference" in keys_of_kind(channel.kind, quantity_of(channel))
        is_gauge = reads_it and channel.reference is PressureReference.GAUGE
        if is_gauge and channel.name.startswith(Role.BAROMETER):
            text = "cannot hold for a barometer; it is what the others are measured against."
            reading.say_key((*path, "reference"), "gauge", text)
        elif is_gauge and channel.station_pressure_hpa is None and not has_barometer:
            text = (
                "needs the room's pressure: add station_pressure_hpa (at the bench, not reduced "
                "to sea level) or a barometer channel."
            )
            reading.say_key((*path, "reference"), "gauge", text)


def quantity_of(channel: BenchChannel) -> Quantity:
    """Tell what a channel measures: by its role, or by its kind where its name has none."""
    try:
        return channel_named(channel.name).role.quantity
    except ValueError:
        return Quantity.PRESSURE if channel.kind.is_adc else Quantity.TEMPERATURE
