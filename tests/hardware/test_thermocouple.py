"""Thermocouple chips, word by word, and the couples' law against the NIST tables."""

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from thermocouple_its90 import TYPES

from hardware.channels import Couple
from hardware.readings import FAULTY, Fault, Reading
from hardware.thermocouple import (
    SLOPES_MV_PER_K,
    LinearWord,
    read_tc31855,
    read_tc31856,
    relinearised_c,
    split_tc31855,
    tc31855_word,
    tc31856_word,
)

NIST_ROWS_MV = [
    # NIST ITS-90 tables (SRD 60): T below 0 degC read in the table, K at -200 in ASTM E230's copy;
    # the other rows from memory.
    (Couple.K, -200.0, -5.891),
    (Couple.K, -50.0, -1.889),
    (Couple.K, 0.0, 0.000),
    (Couple.K, 25.0, 1.000),
    (Couple.K, 100.0, 4.096),
    (Couple.K, 180.0, 7.340),
    (Couple.K, 200.0, 8.138),
    (Couple.K, 500.0, 20.644),
    (Couple.K, 1000.0, 41.276),
    (Couple.J, -100.0, -4.633),
    (Couple.J, 25.0, 1.277),
    (Couple.J, 100.0, 5.269),
    (Couple.J, 180.0, 9.669),
    (Couple.J, 200.0, 10.779),
    (Couple.J, 760.0, 42.919),
    (Couple.J, 1000.0, 57.953),
    (Couple.T, -200.0, -5.603),
    (Couple.T, -100.0, -3.379),
    (Couple.T, -50.0, -1.819),
    (Couple.T, 25.0, 0.992),
    (Couple.T, 100.0, 4.279),
    (Couple.T, 180.0, 8.237),
    (Couple.T, 200.0, 9.288),
    (Couple.T, 400.0, 20.872),
]

SHOWN_AT_25C = [
    # What a linear chip shows at a cold junction of 25 degC: S-line through the NIST voltage.
    (Couple.K, 60.0, 59.80),
    (Couple.K, 180.0, 178.59),
    (Couple.K, 250.0, 246.75),
    (Couple.J, 60.0, 56.72),
    (Couple.J, 121.0, 113.65),
    (Couple.J, 180.0, 169.81),
    (Couple.T, 60.0, 53.29),
    (Couple.T, 180.0, 163.84),
]


def celsius(reading: Reading) -> float:
    assert reading.fault is None
    assert reading.value is not None
    return reading.value - 273.15


@pytest.mark.parametrize(("couple", "temp_c", "voltage_mv"), NIST_ROWS_MV)
def test_the_law_of_a_couple_is_the_table_of_nist(
    couple: Couple, temp_c: float, voltage_mv: float
) -> None:
    assert TYPES[couple].emf(temp_c) == pytest.approx(voltage_mv, abs=0.00051)


# The last row stands at the very end of type T, where the table's rounding leaves the span.
@pytest.mark.parametrize(("couple", "temp_c", "voltage_mv"), NIST_ROWS_MV[:-1])
def test_a_linear_chip_at_0c_is_read_by_the_table_of_nist(
    couple: Couple, temp_c: float, voltage_mv: float
) -> None:
    shown_c = voltage_mv / SLOPES_MV_PER_K[couple]
    rounding_k = 0.0006 / TYPES[couple].seebeck(temp_c)  # of the table's last digit
    assert relinearised_c(shown_c, 0.0, couple) == pytest.approx(temp_c, abs=rounding_k)


@pytest.mark.parametrize(("couple", "true_c", "shown_c"), SHOWN_AT_25C)
def test_a_linear_chip_is_put_right_where_it_is_wrong(
    couple: Couple, true_c: float, shown_c: float
) -> None:
    assert relinearised_c(shown_c, 25.0, couple) == pytest.approx(true_c, abs=0.01)


def test_a_j_couple_at_180c_reads_180_not_170() -> None:
    word = tc31855_word(180.0 + 273.15, 25.0 + 273.15, Couple.J)
    assert split_tc31855(int(word, 16)).shown_c == 169.75
    assert celsius(read_tc31855(word, Couple.J)) == pytest.approx(180.0, abs=0.13)


def test_temperatures_are_never_simply_added() -> None:
    # 4.096 mV over a junction at 25 degC is 124.3 degC, not 125.
    shown_c = 25.0 + 4.096 / SLOPES_MV_PER_K[Couple.K]
    assert relinearised_c(shown_c, 25.0, Couple.K) == pytest.approx(124.31, abs=0.01)


# --- tc31855: MAX31855, sheet 19-5793, p. 10 ----------------------------------------------------


@pytest.mark.parametrize(
    ("bits", "shown_c", "cold_c"),
    [
        # Fields from tables 4 and 5; the words are composed of them.
        (0x64007F00, 1600.00, 127.0),
        (0x3E806490, 1000.00, 100.5625),
        (0x064C1900, 100.75, 25.0),
        (0x01900000, 25.00, 0.0),
        (0x0000FFF0, 0.00, -0.0625),
        (0xFFFCFF00, -0.25, -1.0),
        (0xFFF0EC00, -1.00, -20.0),
        (0xF060C900, -250.00, -55.0),
    ],
)
def test_the_fields_of_the_linear_chip_are_those_of_its_sheet(
    bits: int, shown_c: float, cold_c: float
) -> None:
    assert split_tc31855(bits) == LinearWord(
        shown_c=shown_c, cold_c=cold_c, faulty=False, open=False, short=False
    )


@pytest.mark.parametrize(
    ("word", "fault"),
    [
        ("00011901", Fault.OPEN),  # table 2: D16, D0
        ("00011902", Fault.SHORT),  # D16, D1 ground
        ("00011904", Fault.SHORT),  # D16, D2 supply
        ("00011907", Fault.OPEN),
        ("00010001", Fault.OPEN),
        ("01901901", Fault.OPEN),
        ("01911900", Fault.UNREADABLE),  # D16 without a cause
        ("FFFFFFFF", Fault.DEAD_BUS),
        ("00000000", Fault.DEAD_BUS),
        ("01921900", Fault.DEAD_BUS),  # table 3: D17 always reads 0
        ("01901908", Fault.DEAD_BUS),  # D3 always reads 0
        ("64007F00", Fault.OUT_OF_RANGE),  # 1600 degC is beyond type K, 127 degC beyond the chip
        ("01907E00", Fault.OUT_OF_RANGE),
        ("F060C900", Fault.OUT_OF_RANGE),  # -250 degC shown: no such voltage in type K
        ("0190190", Fault.UNREADABLE),
        ("019019000", Fault.UNREADABLE),
        ("0190190G", Fault.UNREADABLE),
        ("0x901900", Fault.UNREADABLE),
        ("+1901900", Fault.UNREADABLE),
        ("0190_900", Fault.UNREADABLE),
        (" 1901900", Fault.UNREADABLE),
        ("\uff10\uff11901900", Fault.UNREADABLE),
        ("", Fault.UNREADABLE),
    ],
)
def test_no_word_of_the_linear_chip_reads_wrong(word: str, fault: Fault) -> None:
    assert read_tc31855(word, Couple.K) == FAULTY[fault]


def test_zero_alone_is_a_temperature() -> None:
    assert celsius(read_tc31855("00000010", Couple.K)) == pytest.approx(0.0, abs=0.01)
    assert celsius(read_tc31855("01901900", Couple.K)) == pytest.approx(25.0, abs=1e-9)
    assert read_tc31855("064c1900", Couple.K) == read_tc31855("064C1900", Couple.K)


@pytest.mark.parametrize("couple", list(Couple))
@settings(deadline=None)
@given(temp_c=st.floats(-40.0, 350.0), cold_c=st.floats(-20.0, 85.0))
def test_the_linear_chip_comes_back_within_its_step(
    couple: Couple, temp_c: float, cold_c: float
) -> None:
    word = tc31855_word(temp_c + 273.15, cold_c + 273.15, couple)
    assume(word != "00000000")  # both exactly 0 degC is taken for a dead line
    # Half of 0.25 K on the chip's line is more of a kelvin where the couple is flatter than it.
    step_k = 0.125 * SLOPES_MV_PER_K[couple] / TYPES[couple].seebeck(temp_c)
    assert celsius(read_tc31855(word, couple)) == pytest.approx(temp_c, abs=step_k + 0.01)


def test_the_linear_chip_is_not_asked_for_what_it_cannot_say() -> None:
    with pytest.raises(ValueError, match=r"cold junction of 130.0 degC is outside the chip's"):
        tc31855_word(300.0, 130.0 + 273.15, Couple.K)
    with pytest.raises(ValueError, match="type T is defined from -270 to 400 C"):
        tc31855_word(500.0 + 273.15, 298.15, Couple.T)


# --- tc31856: MAX31856, linearised temperature table, from memory -------------------------------


@pytest.mark.parametrize(
    ("word", "temp_c"),
    [
        ("06400000", 100.0),
        ("064F0000", 100.9375),
        ("01900000", 25.0),
        ("00010000", 0.0625),
        ("FFFF0000", -0.0625),
        ("FFFC0000", -0.25),
        ("FFF00000", -1.0),
        ("00002000", 2.0**-7),  # one step of 19 bits
        ("01901F00", 25.0),  # the last five bits mean nothing
        ("0190003C", 25.0),  # limits that the board set were passed; the reading is good
    ],
)
def test_the_linearising_chip_is_never_corrected_again(word: str, temp_c: float) -> None:
    for couple in Couple:
        assert celsius(read_tc31856(word, couple)) == pytest.approx(temp_c, abs=1e-9)


@pytest.mark.parametrize(
    ("word", "couple", "fault"),
    [
        ("01900001", Couple.K, Fault.OPEN),
        ("01900002", Couple.K, Fault.SHORT),
        ("01900003", Couple.K, Fault.OPEN),
        ("01900040", Couple.K, Fault.OUT_OF_RANGE),
        ("01900080", Couple.K, Fault.OUT_OF_RANGE),
        ("64000000", Couple.K, Fault.OUT_OF_RANGE),  # 1600 degC, type K ends at 1372
        ("55C00000", Couple.T, Fault.OUT_OF_RANGE),
        ("19002000", Couple.T, Fault.OUT_OF_RANGE),  # 400.0078 degC, type T ends at 400
        ("00000000", Couple.K, Fault.DEAD_BUS),
        ("FFFFFFFF", Couple.K, Fault.DEAD_BUS),
        ("100", Couple.K, Fault.UNREADABLE),
        ("-1900000", Couple.K, Fault.UNREADABLE),
    ],
)
def test_no_word_of_the_linearising_chip_reads_wrong(
    word: str, couple: Couple, fault: Fault
) -> None:
    assert read_tc31856(word, couple) == FAULTY[fault]


def test_the_span_of_a_couple_includes_its_end() -> None:
    assert celsius(read_tc31856("19000000", Couple.T)) == pytest.approx(400.0)


@settings(deadline=None)
@given(st.floats(-200.0, 400.0), st.sampled_from(Couple))
def test_the_linearising_chip_comes_back_within_its_step(temp_c: float, couple: Couple) -> None:
    word = tc31856_word(temp_c + 273.15, couple)
    assume(word != "00000000")  # exactly 0 degC is taken for a dead line
    assert celsius(read_tc31856(word, couple)) == pytest.approx(temp_c, abs=2.0**-8 + 1e-9)


def test_the_linearising_chip_is_not_asked_for_what_it_cannot_say() -> None:
    with pytest.raises(ValueError, match=r"500.0 degC is outside -270.0..400.0 degC of type T"):
        tc31856_word(773.15, Couple.T)


@pytest.mark.parametrize("couple", list(Couple))
def test_the_law_comes_back_on_a_grid_of_a_tenth_of_a_degree(couple: Couple) -> None:
    law = TYPES[couple]
    worst_k = max(
        abs(law.temperature(law.emf(tenths / 10.0)) - tenths / 10.0)
        for tenths in range(-1000, 4001)
    )
    assert worst_k <= 0.01
