"""A couple straight on a 16-bit converter: its cold junction is added as a voltage."""

from __future__ import annotations

import pytest

from hardware.channels import AdcCoupleSpec, BarometerSpec, Couple, Kind, ResistanceSpec
from hardware.decoder import ChannelAt, PortDecoder
from hardware.encoder import encode_raw
from hardware.readings import Fault
from hardware.resistance import rtd31865_word

VOLTS_PER_COUNT = 0.256 / 32768
"""The finest range of the converter: 7.8125 uV."""
SPEC = AdcCoupleSpec(
    kind=Kind.ADC16S, volts_per_count=VOLTS_PER_COUNT, cold_index=1, cold=ResistanceSpec()
)
COLD_K = 298.15
COLD = rtd31865_word(COLD_K, 400.0, 100.0)


def read(raws: list[str], spec: AdcCoupleSpec = SPEC) -> float | Fault | None:
    (value,), (fault,) = PortDecoder([ChannelAt(name="part1", index=0, spec=spec)]).decode(raws)
    return value if fault is None else fault


def test_the_cold_junction_is_added_as_a_voltage_not_as_a_temperature() -> None:
    # 4.096 mV is 100 degC in the table of type K; over a junction at 25 degC it is 124.3, not 125.
    count = round(4.096e-3 / VOLTS_PER_COUNT)
    assert read([str(count), COLD]) == pytest.approx(124.31 + 273.15, abs=0.15)


@pytest.mark.parametrize("couple", list(Couple))
@pytest.mark.parametrize("temp_c", [-100.0, 0.0, 25.0, 180.0, 399.0])
def test_a_couple_comes_back_within_one_count(couple: Couple, temp_c: float) -> None:
    spec = AdcCoupleSpec(
        kind=Kind.ADC16S,
        volts_per_count=VOLTS_PER_COUNT,
        couple=couple,
        cold_index=1,
        cold=ResistanceSpec(),
    )
    raw = encode_raw(spec, temp_c + 273.15, cold_junction_k=COLD_K)
    # Half a count over the least slope of the three, 28 uV/K of type T at -100 degC.
    assert read([raw, COLD], spec) == pytest.approx(temp_c + 273.15, abs=0.16)


@pytest.mark.parametrize(
    ("raws", "fault"),
    [
        (["32767", COLD], Fault.OPEN),
        (["-32768", COLD], Fault.OPEN),
        (["500", "FFFF8000"], Fault.OPEN),
        (["500", "FFFFFFFF"], Fault.DEAD_BUS),
        (["500", "-"], Fault.NOT_READ),
        (["500"], Fault.NOT_READ),
        (["-", COLD], Fault.NOT_READ),
        (["!3", COLD], Fault.DRIVER),
        (["30000", COLD], Fault.OUT_OF_RANGE),  # 234 mV
    ],
)
def test_without_a_voltage_or_a_cold_junction_there_is_no_value(
    raws: list[str], fault: Fault
) -> None:
    assert read(raws) is fault


def test_a_hello_must_agree_about_both_raws() -> None:
    decoder = PortDecoder([ChannelAt(name="part1", index=0, spec=SPEC)])
    assert decoder.agrees(["adc16s", "rtd31865"]) == []
    assert decoder.agrees(["adc16s", "adc16s"]) == [
        "channel part1: cold_channel = 1: the bench file says rtd31865, the board says 'adc16s'; "
        "correct the kind or the index"
    ]


def test_a_converter_of_12_bits_is_too_coarse_for_a_couple() -> None:
    with pytest.raises(ValueError, match="too coarse for a couple"):
        AdcCoupleSpec(kind=Kind.ADC12, volts_per_count=1e-3, cold_index=1, cold=ResistanceSpec())


def test_a_pressure_is_no_cold_junction() -> None:
    with pytest.raises(ValueError, match="the cold junction is measured in degrees"):
        AdcCoupleSpec(kind=Kind.ADC16S, volts_per_count=1e-5, cold_index=1, cold=BarometerSpec())
