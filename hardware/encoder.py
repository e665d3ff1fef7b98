"""What a board sends for a given pressure or temperature: the way back from SI to raw words.

Pure. Used by whatever plays a board. The words are the chips' own, with the chips' own errors: a
linear thermocouple chip shows its straight line, not the truth.
"""

from __future__ import annotations

from hardware.barometer import bmp280_word
from hardware.calibration import PressureScale
from hardware.channels import (
    COUNT_RANGES,
    AdcCoupleSpec,
    AdcPressureSpec,
    BarometerSpec,
    ChannelSpec,
    Kind,
    RegisterSpec,
    ResistanceSpec,
)
from hardware.readings import Fault
from hardware.registers import register_raw
from hardware.resistance import rtd31865_word
from hardware.thermocouple import couple_voltage_v, tc31855_word, tc31856_word

BENCH_TEMP_K = 298.15
"""Where the converter chips sit unless told otherwise."""
ROOM_PA = 101325.0
"""Where the barometer chip is while only its warmth is asked for."""

_ADC_FAULTS = {Fault.OPEN: "0"}
_CHIP_FAULTS = {
    Kind.TC31855: {
        Fault.OPEN: "00011901",
        Fault.SHORT: "00011902",
        Fault.OUT_OF_RANGE: "7FFC1900",
        Fault.DEAD_BUS: "FFFFFFFF",
    },
    Kind.TC31856: {
        Fault.OPEN: "00000001",
        Fault.SHORT: "00000002",
        Fault.OUT_OF_RANGE: "70800040",
        Fault.DEAD_BUS: "FFFFFFFF",
    },
    Kind.RTD31865: {
        Fault.OPEN: "FFFF8000",
        Fault.SHORT: "00014000",
        Fault.OUT_OF_RANGE: "02000000",
        Fault.DEAD_BUS: "FFFFFFFF",
    },
}
_ANY_KIND_FAULTS = {Fault.NOT_READ: "-", Fault.DRIVER: "!1", Fault.UNREADABLE: "?"}


def encode_raw(
    spec: ChannelSpec,
    value: float,
    *,
    supply_v: float = 5.0,
    station_pressure_pa: float | None = None,
    cold_junction_k: float = BENCH_TEMP_K,
) -> str:
    """Return the raw for a value in Pa absolute or K.

    `supply_v` is what the transducer's supply truly is at that moment. Raises ValueError for a
    temperature that the sensor cannot have.
    """
    if isinstance(spec, AdcPressureSpec):
        scale = PressureScale(spec)
        return str(scale.count(value, supply_v=supply_v, station_pressure_pa=station_pressure_pa))
    if isinstance(spec, RegisterSpec):
        return register_raw(value, spec, station_pressure_pa)
    if isinstance(spec, BarometerSpec):
        at_pa = ROOM_PA if spec.temperature else value
        return bmp280_word(at_pa, value if spec.temperature else BENCH_TEMP_K)
    if isinstance(spec, AdcCoupleSpec):
        voltage_v = couple_voltage_v(value, cold_junction_k, spec.couple)
        lowest, highest = COUNT_RANGES[spec.kind]
        return str(min(max(round(voltage_v / spec.volts_per_count), lowest), highest))
    if isinstance(spec, ResistanceSpec):
        return rtd31865_word(value, spec.reference_ohm, spec.zero_ohm)
    if spec.kind is Kind.TC31855:
        return tc31855_word(value, cold_junction_k, spec.couple)
    return tc31856_word(value, spec.couple)


def encode_supply(spec: AdcPressureSpec, supply_v: float) -> str:
    """Return the raw of the channel that measures a transducer's supply."""
    return str(PressureScale(spec).supply_count(supply_v))


def encode_fault(spec: ChannelSpec, fault: Fault) -> str:
    """Return a raw that a board sends when this is wrong.

    Raises ValueError for what the kind cannot tell: no converter knows a short from a pressure.
    """
    is_transducer = isinstance(spec, AdcPressureSpec)
    of_kind = _ADC_FAULTS if is_transducer else _CHIP_FAULTS.get(spec.kind, {})
    raw = _ANY_KIND_FAULTS.get(fault) or of_kind.get(fault)
    if raw is None:
        raise ValueError(f"a channel of kind {spec.kind} cannot say {fault!r}")
    return raw
