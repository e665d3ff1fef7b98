"""Every chip from the bytes on its bus to SI and back, as its data sheet says.

Sheets: MAX31855 19-5793 Rev 5; MAX31865 19-6478 Rev 3; MCP3208 DS21298E; BMP280 BST-BMP280-DS001.
Rows of MAX31856 and the bit layout of ADS1115's config are from memory, their arithmetic is not.
"""

from __future__ import annotations

import pytest

from hardware.board.chips import (
    MOST_LOOKS,
    Ads1115,
    Bmp280,
    Chip,
    Max31855,
    Max31856,
    Max31865,
    Mcp3208,
    read_raw,
)
from hardware.channels import (
    AdcPressureSpec,
    BarometerSpec,
    ChannelSpec,
    Couple,
    CoupleSpec,
    Kind,
    ResistanceSpec,
)
from hardware.decoder import ChannelAt, PortDecoder
from hardware.readings import Fault
from hardware.thermocouple import split_tc31855
from tests.hardware.board.fakes import ScriptedI2c, ScriptedSpi, Unplugged
from tests.hardware.board.story import MEASURED, TRIMMING

READY_56 = bytes.fromhex("00 91 03") + bytes(10)
"""Address byte, CR0 and CR1 as set up, and the registers before LTCBH."""


def value_of(chip: Chip, spec: ChannelSpec) -> float | Fault:
    """Read the chip and convert what it said."""
    (value,), (fault,) = PortDecoder([ChannelAt(name="x", index=0, spec=spec)]).decode(
        [read_raw(chip)]
    )
    return fault if value is None else value  # type: ignore[return-value]  # one of them is given


# --- MAX31855 -------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("answer", "shown_c", "cold_c"),
    [
        ("64 00 7F 00", 1600.0, 127.0),  # tables 4 and 5, p. 10
        ("06 4C 19 00", 100.75, 25.0),
        ("01 90 00 00", 25.0, 0.0),
        ("00 00 FF F0", 0.0, -0.0625),
        ("FF F0 EC 00", -1.0, -20.0),
        ("F0 60 C9 00", -250.0, -55.0),
    ],
)
def test_the_linear_chip_clocks_four_bytes_into_its_fields(
    answer: str, shown_c: float, cold_c: float
) -> None:
    bus = ScriptedSpi([bytes.fromhex(answer)])
    word = Max31855(bus).read()
    assert bus.asked == [bytes(4)]
    assert word == answer.replace(" ", "")
    fields = split_tc31855(int(word, 16))
    assert (fields.shown_c, fields.cold_c) == (shown_c, cold_c)


@pytest.mark.parametrize(
    ("answer", "fault"),
    [
        ("00 01 19 01", Fault.OPEN),  # bits D16 and D0 to D2: tables 2 and 3, p. 10
        ("00 01 19 02", Fault.SHORT),
        ("00 01 19 04", Fault.SHORT),
        ("FF FF FF FF", Fault.DEAD_BUS),  # D17 and D3 always read 0
        ("00 00 00 00", Fault.DEAD_BUS),
    ],
)
def test_a_fault_of_the_linear_chip_has_no_value(answer: str, fault: Fault) -> None:
    chip = Max31855(ScriptedSpi([bytes.fromhex(answer)]))
    assert value_of(chip, CoupleSpec(kind=Kind.TC31855)) is fault


def test_a_j_couple_at_180c_on_the_linear_chip_reads_180() -> None:
    # It shows 169.75 degC over a cold junction of 25 degC: 57.953 uV/K takes 180 degC for that.
    word = (int(169.75 / 0.25) << 18 | int(25.0 / 0.0625) << 4).to_bytes(4, "big")
    chip = Max31855(ScriptedSpi([word]))
    read_k = value_of(chip, CoupleSpec(kind=Kind.TC31855, couple=Couple.J))
    assert read_k == pytest.approx(180.0 + 273.15, abs=0.15)


# --- MAX31856, from memory ------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("answer", "temp_c"),
    [
        ("06 4F 00 00", 100.9375),
        ("01 90 00 00", 25.0),
        ("00 01 00 00", 0.0625),
        ("FF FF 00 00", -0.0625),
        ("FF FC 00 00", -0.25),
        ("FF F0 00 00", -1.0),
        ("01 90 00 3C", 25.0),  # limits that the board set are no fault of the couple
    ],
)
def test_the_linearising_chip_is_read_in_one_burst_and_not_corrected(
    answer: str, temp_c: float
) -> None:
    bus = ScriptedSpi([READY_56 + bytes.fromhex(answer)])
    assert value_of(Max31856(bus), CoupleSpec(kind=Kind.TC31856)) == temp_c + 273.15
    assert bus.asked == [bytes(17)]


def test_1600c_is_beyond_type_k() -> None:
    chip = Max31856(ScriptedSpi([READY_56 + bytes.fromhex("64 00 00 00")]))
    assert value_of(chip, CoupleSpec(kind=Kind.TC31856)) is Fault.OUT_OF_RANGE


@pytest.mark.parametrize(("couple", "code"), [("J", "02"), ("K", "03"), ("T", "07")])
def test_a_linearising_chip_at_its_reset_values_is_set_up_and_not_read(
    couple: str, code: str
) -> None:
    reset = bytes.fromhex("00 00 03 FF 7F C0") + bytes(11)
    ready = bytes.fromhex(f"00 91 {code}") + bytes(10) + bytes.fromhex("01 90 00 00")
    bus = ScriptedSpi([reset, bytes(3), ready])
    chip = Max31856(bus, couple)
    assert [chip.read(), chip.read()] == ["-", "01900000"]
    assert bus.asked == [bytes(17), bytes.fromhex(f"80 91 {code}"), bytes(17)]


def test_a_chip_that_lost_its_couples_type_is_not_believed() -> None:
    # A J couple read as type K after a brown-out would be a wrong value, not a fault.
    bus = ScriptedSpi([READY_56 + bytes.fromhex("0B 40 00 00"), bytes(3)])
    chip = Max31856(bus, "J")
    assert value_of(chip, CoupleSpec(kind=Kind.TC31856, couple=Couple.J)) is Fault.NOT_READ


@pytest.mark.parametrize(
    ("registers", "fault"),
    [
        ("91 03 00 00 00 00 00 00 00 00 00 00 01 90 00 01", Fault.OPEN),
        ("91 03 00 00 00 00 00 00 00 00 00 00 01 90 00 02", Fault.SHORT),
        ("91 03 00 00 00 00 00 00 00 00 00 00 01 90 00 40", Fault.OUT_OF_RANGE),
        ("91 03 00 00 00 00 00 00 00 00 00 00 01 90 00 80", Fault.OUT_OF_RANGE),
        ("00 " * 16, Fault.DEAD_BUS),
        ("FF " * 16, Fault.DEAD_BUS),
    ],
)
def test_a_fault_of_the_linearising_chip_has_no_value(registers: str, fault: Fault) -> None:
    chip = Max31856(ScriptedSpi([b"\x00" + bytes.fromhex(registers)]))
    assert value_of(chip, CoupleSpec(kind=Kind.TC31856)) is fault


# --- MAX31865 -------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("rtd", "temp_c"),
    [
        ("40 00", 0.0),  # table 9, p. 19, with 400 ohm
        ("58 A4", 100.0),
        ("64 B0", 150.0),
        ("70 8C", 200.0),
        ("33 66", -50.0),
    ],
)
def test_a_platinum_element_reads_as_its_table(rtd: str, temp_c: float) -> None:
    bus = ScriptedSpi([bytes.fromhex(f"00 C1 {rtd} FF FF 00 00 00")])
    read_k = value_of(Max31865(bus), ResistanceSpec())
    assert read_k == pytest.approx(temp_c + 273.15, abs=0.04)
    assert bus.asked == [bytes(9)]


def test_an_element_on_three_wires_is_set_up_so() -> None:
    reset = bytes.fromhex("00 00 00 00 FF FF 00 00 00")
    bus = ScriptedSpi([reset, bytes(2)])
    assert Max31865(bus, wires=3).read() == "-"
    assert bus.asked[1] == bytes.fromhex("80 D1")  # p. 13, table 2: D4 for three wires


@pytest.mark.parametrize(
    ("rtd", "status", "fault"),
    [
        ("40 01", "04", Fault.SHORT),  # p. 21, table 10: over- or under-voltage
        ("FF FF", "A0", Fault.OPEN),
        ("00 01", "40", Fault.SHORT),
    ],
)
def test_a_fault_of_the_element_is_told_and_cleared(rtd: str, status: str, fault: Fault) -> None:
    bus = ScriptedSpi([bytes.fromhex(f"00 C1 {rtd} FF FF 00 00 {status}"), bytes(2)])
    assert value_of(Max31865(bus), ResistanceSpec()) is fault
    assert bus.asked[1] == bytes.fromhex("80 C3")  # D1 clears, D5, D3 and D2 stay 0; p. 14


@pytest.mark.parametrize("level", [b"\x00", b"\xff"])
def test_a_dead_line_to_the_element_is_no_temperature(level: bytes) -> None:
    assert value_of(Max31865(ScriptedSpi([level * 9])), ResistanceSpec()) is Fault.DEAD_BUS


# --- MCP3208 --------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("source", "asked"),
    [
        (0, "06 00 00"),  # five leading zeros, start, single-ended; section 6.1, figure 6-1, p. 21
        (1, "06 40 00"),
        (3, "06 C0 00"),
        (4, "07 00 00"),
        (7, "07 C0 00"),
    ],
)
def test_a_12_bit_input_is_asked_for_by_its_number(source: int, asked: str) -> None:
    bus = ScriptedSpi([bytes.fromhex("FF E8 00")])
    # Three unknown bits, the null bit, then 800h.
    assert Mcp3208(bus, source).read() == "2048"
    assert bus.asked == [bytes.fromhex(asked)]


@pytest.mark.parametrize(
    ("count", "pressure_pa"),
    [(410, 0.0), (819, 12500.0), (2048, 50000.0), (3686, 100000.0)],
)
def test_a_ratiometric_transducer_reads_on_12_bits(count: int, pressure_pa: float) -> None:
    answer = b"\xff" + (0xE000 | count).to_bytes(2, "big")
    read_pa = value_of(Mcp3208(ScriptedSpi([answer]), 0), AdcPressureSpec(kind=Kind.ADC12))
    assert read_pa == pytest.approx(pressure_pa, abs=20.0)  # 0.2 mbar of rounding


def test_nobody_on_the_line_of_the_12_bit_converter_is_a_driver_error() -> None:
    chip = Mcp3208(ScriptedSpi([b"\xff\xff\xff"]), 0)
    assert value_of(chip, AdcPressureSpec(kind=Kind.ADC12)) is Fault.DRIVER


# --- ADS1115 --------------------------------------------------------------------------------------


def conversion(answer: str, config: str = "C1 83") -> ScriptedI2c:
    """A converter that is still busy at the first look."""
    ready = bytes.fromhex(config)
    busy = bytes((ready[0] & 0x7F, ready[1]))
    return ScriptedI2c([b"", busy, ready, bytes.fromhex(answer)])


def test_a_conversion_is_started_awaited_and_read() -> None:
    bus = conversion("34 15")
    assert Ads1115(bus, "0").read() == "13333"  # 2.49994 V at 187.5 uV
    # Start, AIN0 against ground, +-6.144 V, single shot, 128 a second, comparator off.
    assert bus.asked == [(b"\x01\xc1\x83", 0), (b"\x01", 2), (b"\x01", 2), (b"\x00", 2)]


@pytest.mark.parametrize(
    ("answer", "count"),
    [
        ("7F FF", "32767"),
        ("00 01", "1"),
        ("00 00", "0"),
        ("FF FF", "-1"),
        ("80 00", "-32768"),  # SBAA565 section 4.2.3; the same table in the sheet of its sister
        ("0A 6B", "2667"),  # 0.500 V
        ("5D C0", "24000"),  # 4.500 V
    ],
)
def test_a_16_bit_count_is_twos_complement(answer: str, count: str) -> None:
    assert Ads1115(conversion(answer), "0").read() == count


@pytest.mark.parametrize(
    ("source", "range_v", "config"),
    [("3", 6.144, "F1 83"), ("0-1", 0.256, "8B 83"), ("2-3", 4.096, "B3 83")],
)
def test_inputs_and_ranges_are_set_in_the_config(source: str, range_v: float, config: str) -> None:
    bus = conversion("00 00", config)
    Ads1115(bus, source, range_v).read()
    assert bus.asked[0] == (b"\x01" + bytes.fromhex(config), 0)


def test_a_converter_that_began_anew_is_not_read() -> None:
    bus = ScriptedI2c([b"", bytes.fromhex("85 83")])  # reset value; from memory
    assert Ads1115(bus, "0").read() == "-"


def test_a_conversion_that_never_ends_is_a_driver_error() -> None:
    bus = ScriptedI2c([b""] + [b"\x41\x83"] * MOST_LOOKS)
    assert Ads1115(bus, "0").read() == "!3"


def test_an_address_where_nobody_answers_is_the_systems_error() -> None:
    assert read_raw(Ads1115(Unplugged(), "0")) == "!121"


def test_a_ratiometric_reading_stands_still_while_its_supply_sags() -> None:
    spec = AdcPressureSpec(kind=Kind.ADC16S, volts_per_count=187.5e-6, supply_index=1)
    decoder = PortDecoder([ChannelAt(name="bag", index=0, spec=spec)])
    firm, sagged = (
        decoder.decode([str(round(share * 0.5 * 26667)), str(round(share * 26667))])[0][0]
        for share in (1.0, 0.99)
    )
    assert firm is not None and sagged is not None
    assert firm == pytest.approx(50000.0, abs=3.0)
    assert sagged == pytest.approx(firm, abs=4.7)  # one count


# --- BMP280 ---------------------------------------------------------------------------------------


def test_the_barometer_is_set_up_once_and_then_read_as_its_sheets_example() -> None:
    ready = bytes.fromhex("57 10 00") + MEASURED
    bus = ScriptedI2c([bytes(9), b"\x58", TRIMMING, b"", b"", b"", ready])
    chip = Bmp280(bus)
    assert value_of(chip, BarometerSpec()) is Fault.NOT_READ
    # Section 3.12: 100653 Pa.
    assert value_of(chip, BarometerSpec()) == pytest.approx(100653.0, abs=1.0)
    assert bus.asked == [
        (b"\xf4", 9),
        (b"\xd0", 1),
        (b"\x88", 24),
        (b"\xf4\x00", 0),
        (b"\xf5\x10", 0),
        (b"\xf4\x57", 0),
        (b"\xf4", 9),
    ]


def test_another_chip_at_the_barometers_address_is_a_driver_error() -> None:
    assert Bmp280(ScriptedI2c([bytes(9), b"\x55"])).read() == "!4"


def test_a_barometer_that_began_anew_is_set_up_again() -> None:
    ready = bytes.fromhex("57 10 00") + MEASURED
    setting_up = [b"\x60", TRIMMING, b"", b"", b""]
    bus = ScriptedI2c([bytes(9), *setting_up, ready, bytes(9), *setting_up, ready])
    chip = Bmp280(bus)
    words = [chip.read() for _ in range(4)]
    assert [words[0], words[2]] == ["-", "-"]
    assert words[1] == words[3] == (TRIMMING + MEASURED).hex().upper()
