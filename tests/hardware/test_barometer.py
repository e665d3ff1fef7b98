from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from hardware.barometer import EXAMPLE_TRIMMING, bmp280_word, read_bmp280
from hardware.readings import FAULTY, Fault

EXAMPLE = EXAMPLE_TRIMMING.hex().upper() + "655AC07EED00"
"""The worked example of sheet BST-BMP280-DS001, section 3.12: 25.08 degC, 100653 Pa."""


def test_the_sheets_example_reads_as_printed() -> None:
    pressure, temperature = read_bmp280(EXAMPLE), read_bmp280(EXAMPLE, temperature=True)
    assert pressure.value == pytest.approx(100653.27, abs=0.01)
    assert temperature.value == pytest.approx(25.08 + 273.15, abs=0.01)


@pytest.mark.parametrize(
    ("word", "fault"),
    [
        ("0" * 60, Fault.DEAD_BUS),
        ("F" * 60, Fault.DEAD_BUS),
        (EXAMPLE[:48] + "800000800000", Fault.NOT_READ),
        (EXAMPLE[:48] + "655AC0800000", Fault.NOT_READ),
        (EXAMPLE[:48] + "0000007EED00", Fault.OUT_OF_RANGE),
        (EXAMPLE[:48] + "655AC0FFFFF0", Fault.OUT_OF_RANGE),
        ("0" * 48 + "655AC07EED00", Fault.UNREADABLE),
        (EXAMPLE[:-1], Fault.UNREADABLE),
        (EXAMPLE[:-1] + "G", Fault.UNREADABLE),
        ("-", Fault.UNREADABLE),
        ("", Fault.UNREADABLE),
    ],
)
def test_no_word_of_the_barometer_reads_wrong(word: str, fault: Fault) -> None:
    assert read_bmp280(word) == FAULTY[fault]


@given(st.floats(30500.0, 109500.0), st.floats(-39.0, 84.0))
def test_weather_comes_back_within_the_chips_step(pressure_pa: float, temp_c: float) -> None:
    word = bmp280_word(pressure_pa, temp_c + 273.15)
    assert read_bmp280(word).value == pytest.approx(pressure_pa, abs=0.25)
    assert read_bmp280(word, temperature=True).value == pytest.approx(temp_c + 273.15, abs=0.01)


def test_a_barometer_is_not_asked_for_what_it_cannot_say() -> None:
    with pytest.raises(ValueError, match="outside the barometer's range"):
        bmp280_word(20000.0, 298.15)
