"""What a channel's description must hold."""

import math
from typing import Any

import pytest

from hardware.channels import AdcPressureSpec, CoupleSpec, Kind, Reference, ResistanceSpec


@pytest.mark.parametrize(
    ("given", "message"),
    [
        ({"kind": Kind.TC31855}, "'tc31855'.* is no converter; use adc12, adc16s or adc24s"),
        ({"span_fraction": 0.0}, "span_fraction = 0 would make every pressure look alike"),
        ({"full_scale_pa": 0.0}, "full_scale_pa = 0 would make"),
        ({"full_scale_pa": math.inf}, "full_scale_pa = inf is not a number"),
        ({"zero_fraction": math.nan}, "zero_fraction = nan is not a number"),
        ({"supply_v": 0.0}, "supply_v = 0.0 must be above 0"),
        ({"volts_per_count": -1e-4}, r"volts_per_count = -0.0001 must be above 0"),
        ({"station_pressure_pa": 0.0}, r"station_pressure_pa = 0.0 must be above 0"),
        ({"supply_index": -1}, "supply_index = -1 must be 0 or above"),
        ({"kind": Kind.ADC16S}, "adc16s needs volts_per_count, or supply_index"),
        ({"kind": Kind.ADC24S}, "adc24s needs volts_per_count, or supply_index"),
    ],
)
def test_a_transducer_that_measures_nothing_is_refused(given: dict[str, Any], message: str) -> None:
    with pytest.raises(ValueError, match=message):
        AdcPressureSpec(**{"kind": Kind.ADC12, **given})


def test_the_least_description_of_each_converter_is_enough() -> None:
    AdcPressureSpec(kind=Kind.ADC12)
    AdcPressureSpec(kind=Kind.ADC16S, supply_index=0)
    AdcPressureSpec(kind=Kind.ADC24S, volts_per_count=3e-7)
    AdcPressureSpec(kind=Kind.ADC12, full_scale_pa=-115000.0, reference=Reference.GAUGE)


def test_a_couple_sits_on_a_couple_chip() -> None:
    with pytest.raises(ValueError, match="reads no couple; use tc31855 or tc31856"):
        CoupleSpec(kind=Kind.RTD31865)
    with pytest.raises(ValueError, match="couple 'S' is none of K, J, T"):
        CoupleSpec(kind=Kind.TC31855, couple="S")  # type: ignore[arg-type] # that is the test


def test_an_element_sits_on_a_resistance_chip_with_a_larger_reference() -> None:
    with pytest.raises(ValueError, match="reads no element; use rtd31865"):
        ResistanceSpec(kind=Kind.TC31855)
    with pytest.raises(ValueError, match="reference_ohm = 0.0 must be above 0"):
        ResistanceSpec(reference_ohm=0.0)
    with pytest.raises(ValueError, match=r"zero_ohm = 1000.0 must be below reference_ohm = 400.0"):
        ResistanceSpec(zero_ohm=1000.0)
