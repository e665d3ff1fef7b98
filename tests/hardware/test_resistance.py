"""Platinum against IEC 60751 and the resistance chip's own tables."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from hardware.readings import FAULTY, Fault
from hardware.resistance import read_rtd31865, resistance_of, rtd31865_word, temperature_of

REFERENCE_OHM, ZERO_OHM = 400.0, 100.0
HALF_STEP_OHM = 0.5 * REFERENCE_OHM / 32768.0

IEC_60751_OHM = [
    # IEC 60751, table of Pt100, from memory
    (-200.0, 18.52),
    (-100.0, 60.26),
    (-50.0, 80.31),
    (0.0, 100.00),
    (100.0, 138.51),
    (150.0, 157.33),
    (200.0, 175.86),
    (600.0, 313.71),
    (850.0, 390.48),
]


@pytest.mark.parametrize(("temp_c", "ohm"), IEC_60751_OHM)
def test_platinum_follows_the_table_of_iec_60751(temp_c: float, ohm: float) -> None:
    assert resistance_of(temp_c, ZERO_OHM) == pytest.approx(ohm, abs=0.005)


@pytest.mark.parametrize(("temp_c", "ohm"), IEC_60751_OHM[1:-1])
def test_a_resistance_of_the_table_is_its_temperature(temp_c: float, ohm: float) -> None:
    assert temperature_of(ohm, ZERO_OHM) == pytest.approx(temp_c, abs=0.005 / 0.29)


@settings(deadline=None)
@given(st.floats(-199.999, 849.999), st.sampled_from([100.0, 1000.0]))
def test_a_temperature_survives_the_way_there_and_back(temp_c: float, zero_ohm: float) -> None:
    back_c = temperature_of(resistance_of(temp_c, zero_ohm), zero_ohm)
    assert back_c == pytest.approx(temp_c, abs=1e-8)


@pytest.mark.parametrize("temp_c", [-200.1, 850.1])
def test_the_law_is_not_used_outside_its_range(temp_c: float) -> None:
    with pytest.raises(ValueError, match="is outside -200.0..850.0 degC of IEC 60751"):
        resistance_of(temp_c, ZERO_OHM)


@pytest.mark.parametrize("ohm", [0.0, 18.51, 390.5, -5.0])
def test_a_resistance_that_platinum_never_has_is_refused(ohm: float) -> None:
    with pytest.raises(ValueError, match="ohm is outside"):
        temperature_of(ohm, ZERO_OHM)


@pytest.mark.parametrize(
    ("word", "temp_c"),
    [
        # MAX31865, sheet 19-6478, table 9 p. 19: Pt100 on 400 ohm
        ("33660000", -50.0),
        ("40000000", 0.0),
        ("58A40000", 100.0),
        ("64B00000", 150.0),
        ("708C0000", 200.0),
        # table 9 continued, p. 20
        ("81FE0000", 275.0),
        ("87B60000", 300.0),
        ("A3A20000", 425.0),
        ("BE640000", 550.0),
    ],
)
def test_a_word_of_the_sheet_reads_as_its_temperature(word: str, temp_c: float) -> None:
    reading = read_rtd31865(word, REFERENCE_OHM, ZERO_OHM)
    assert reading.fault is None
    assert reading.value == pytest.approx(temp_c + 273.15, abs=HALF_STEP_OHM / 0.34)
    assert rtd31865_word(temp_c + 273.15, REFERENCE_OHM, ZERO_OHM) == word


@pytest.mark.parametrize(
    ("word", "code"),
    [
        # Table 5 p. 14: the data are the upper 15 bits
        ("20000000", 4096),
        ("40000000", 8192),
        ("80000000", 16384),
        ("C0000000", 24576),
    ],
)
def test_the_code_is_a_share_of_the_reference(word: str, code: int) -> None:
    reading = read_rtd31865(word, REFERENCE_OHM, 200.0)
    assert reading.value is not None
    ohm = resistance_of(reading.value - 273.15, 200.0)
    assert ohm == pytest.approx(code / 32768.0 * REFERENCE_OHM, abs=1e-9)


@pytest.mark.parametrize(
    ("word", "fault"),
    [
        ("FFFF8000", Fault.OPEN),  # table 10 p. 21: D7, full scale
        ("FFFE0000", Fault.OPEN),  # full scale, though no threshold was set
        ("40012000", Fault.OPEN),  # D5: open element
        ("40010000", Fault.OPEN),  # fault bit alone
        ("00014000", Fault.SHORT),  # D6, near zero
        ("40011000", Fault.SHORT),  # D4: RTDIN- shorted low; looks valid
        ("40010800", Fault.SHORT),  # D3
        ("40010400", Fault.SHORT),  # D2: over or under voltage
        ("40004000", Fault.SHORT),
        ("06660000", Fault.OUT_OF_RANGE),  # table 5: code 819, 10 ohm
        ("FA000000", Fault.OUT_OF_RANGE),  # 390.625 ohm, 850.4 degC
        ("00000000", Fault.DEAD_BUS),
        ("FFFFFFFF", Fault.DEAD_BUS),
        ("FFFFFF00", Fault.DEAD_BUS),
        ("40000001", Fault.UNREADABLE),  # the last byte is always 00
        ("4000", Fault.UNREADABLE),
        ("4000000Z", Fault.UNREADABLE),
    ],
)
def test_no_word_of_the_resistance_chip_reads_wrong(word: str, fault: Fault) -> None:
    assert read_rtd31865(word, REFERENCE_OHM, ZERO_OHM) == FAULTY[fault]


@settings(deadline=None)
@given(st.floats(-190.0, 840.0))
def test_a_temperature_comes_back_within_the_chips_step(temp_c: float) -> None:
    word = rtd31865_word(temp_c + 273.15, REFERENCE_OHM, ZERO_OHM)
    reading = read_rtd31865(word, REFERENCE_OHM, ZERO_OHM)
    assert reading.value == pytest.approx(temp_c + 273.15, abs=HALF_STEP_OHM / 0.29)
