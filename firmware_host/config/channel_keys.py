"""Which keys of a [[channel]] mean something, by what it measures and with what."""

from __future__ import annotations

from firmware_host.config.convert import field_names
from firmware_host.config.schema import BenchChannel, ChannelKind
from firmware_host.model.channels import Quantity

_ROOM = frozenset({"reference", "station_pressure_hpa", "full_scale_pa", "lowest_pa"})
_TRANSDUCER = _ROOM | {
    "volts_per_count",
    "supply_index",
    "supply_v",
    "zero_fraction",
    "span_fraction",
}
_COUPLE = frozenset({"couple"})
_ADC_COUPLE = _COUPLE | {"volts_per_count", "cold_channel"}
_ELEMENT = frozenset({"reference_ohm", "zero_ohm"})
_REGISTER = frozenset({"unit", "scale", "offset"})
_TWO_REGISTERS = _REGISTER | {"word_order"}
_EVERY = frozenset({"name", "port", "index", "kind", "calibrated_on"})


def keys_of_kind(kind: ChannelKind, quantity: Quantity) -> list[str]:
    """Keys that mean something to a channel of this kind, in the schema's order."""
    known = _EVERY | _of_kind(kind, is_pressure=quantity is Quantity.PRESSURE)
    return [key for key in field_names(BenchChannel) if key in known]


def _of_kind(kind: ChannelKind, *, is_pressure: bool) -> frozenset[str]:
    if kind.is_adc:
        return _TRANSDUCER if is_pressure else _ADC_COUPLE
    if kind.is_register:
        one = kind in (ChannelKind.U16, ChannelKind.I16)
        return (_REGISTER if one else _TWO_REGISTERS) | (_ROOM if is_pressure else frozenset())
    if kind is ChannelKind.RTD31865:
        return _ELEMENT
    return frozenset() if kind is ChannelKind.BMP280 else _COUPLE
