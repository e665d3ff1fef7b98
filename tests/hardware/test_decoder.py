"""Raws of a sample line to values; anything at all is a value or a fault."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from hardware.channels import (
    AdcPressureSpec,
    ChannelSpec,
    Couple,
    CoupleSpec,
    Kind,
    Reference,
    ResistanceSpec,
)
from hardware.decoder import ChannelAt, PortDecoder
from hardware.encoder import encode_fault, encode_raw, encode_supply
from hardware.readings import Fault

BAG = AdcPressureSpec(kind=Kind.ADC16S, volts_per_count=187.5e-6, supply_index=5)
PUMP = AdcPressureSpec(kind=Kind.ADC12, reference=Reference.GAUGE, full_scale_pa=-100000.0)
PART1 = CoupleSpec(kind=Kind.TC31855, couple=Couple.J)
PART2 = CoupleSpec(kind=Kind.TC31856, couple=Couple.K)
SHOP = ResistanceSpec()
CHANNELS = (
    ChannelAt(name="bag", index=0, spec=BAG),
    ChannelAt(name="part1", index=1, spec=PART1),
    ChannelAt(name="pump", index=2, spec=PUMP),
    ChannelAt(name="part2", index=3, spec=PART2),
    ChannelAt(name="shop", index=4, spec=SHOP),
)
KINDS = ("adc16s", "tc31855", "adc12", "tc31856", "rtd31865", "adc16s")
ROOM_PA = 101325.0
GOOD = (
    encode_raw(BAG, 20000.0, supply_v=4.95),
    encode_raw(PART1, 333.15, cold_junction_k=301.15),
    encode_raw(PUMP, 15000.0, station_pressure_pa=ROOM_PA),
    encode_raw(PART2, 330.65),
    encode_raw(SHOP, 292.15),
    encode_supply(BAG, 4.95),
)


def decode_one(
    spec: ChannelSpec, raw: str, supply: str = "26667"
) -> tuple[float | None, Fault | None]:
    decoder = PortDecoder([ChannelAt(name="part1", index=0, spec=spec)])
    (value,), (fault,) = decoder.decode([raw, "-", "-", "-", "-", supply], ROOM_PA)
    return value, fault


def test_each_channel_gets_its_own_value_in_si() -> None:
    values, faults = PortDecoder(CHANNELS).decode(GOOD, ROOM_PA)
    assert faults == (None,) * 5
    bag, part1, pump, part2, shop = values
    assert bag == pytest.approx(20000.0, abs=5.0)
    assert part1 == pytest.approx(333.15, abs=0.15)
    assert pump == pytest.approx(15000.0, abs=16.0)
    assert part2 == pytest.approx(330.65, abs=0.004)
    assert shop == pytest.approx(292.15, abs=0.02)


def test_a_line_of_the_protocol_reads_as_its_words_say() -> None:
    # 32768 is no count of 12 bits; the couples are at 25 degC and open.
    channels = (
        ChannelAt(name="bag", index=0, spec=AdcPressureSpec(kind=Kind.ADC12)),
        ChannelAt(name="part1", index=1, spec=CoupleSpec(kind=Kind.TC31855)),
        ChannelAt(name="part2", index=2, spec=CoupleSpec(kind=Kind.TC31855)),
    )
    values, faults = PortDecoder(channels).decode(["32768", "01901900", "00010001"])
    assert list(values) == [None, pytest.approx(298.15), None]
    assert faults == (Fault.UNREADABLE, None, Fault.OPEN)


@pytest.mark.parametrize("spec", [BAG, PART1, PUMP, PART2, SHOP])
@pytest.mark.parametrize(
    ("raw", "fault"),
    [
        ("-", Fault.NOT_READ),
        ("!0", Fault.DRIVER),
        ("!17", Fault.DRIVER),
        ("!", Fault.UNREADABLE),
        ("!x", Fault.UNREADABLE),
        ("!1!", Fault.UNREADABLE),
        ("--", Fault.UNREADABLE),
        ("", Fault.UNREADABLE),
        ("?", Fault.UNREADABLE),
        ("1.5", Fault.UNREADABLE),
        ("1e3", Fault.UNREADABLE),
        ("+5", Fault.UNREADABLE),
        (" 5", Fault.UNREADABLE),
        ("5 ", Fault.UNREADABLE),
        ("5\n", Fault.UNREADABLE),
        ("1_000", Fault.UNREADABLE),
        ("nan", Fault.UNREADABLE),
        ("\u0661\u0662", Fault.UNREADABLE),
        ("9" * 5000, Fault.UNREADABLE),
    ],
)
def test_what_is_no_word_of_any_kind_has_its_reason(
    spec: ChannelSpec, raw: str, fault: Fault
) -> None:
    assert decode_one(spec, raw) == (None, fault)


@pytest.mark.parametrize(
    ("spec", "raw"),
    [
        (PUMP, "-1"),
        (PUMP, "4096"),
        (BAG, "32768"),
        (BAG, "-32769"),
        (AdcPressureSpec(kind=Kind.ADC24S, volts_per_count=6e-7), "8388608"),
        (AdcPressureSpec(kind=Kind.ADC24S, volts_per_count=6e-7), "-8388609"),
        (BAG, "0A6B"),
        (PART1, "1234"),
        (PART2, "-1"),
        (SHOP, "16384"),
    ],
)
def test_a_word_of_another_kind_is_unreadable(spec: ChannelSpec, raw: str) -> None:
    assert decode_one(spec, raw) == (None, Fault.UNREADABLE)


@pytest.mark.parametrize(
    ("supply", "fault"),
    [
        ("-", Fault.NOT_READ),
        ("!2", Fault.DRIVER),
        ("32768", Fault.UNREADABLE),
        ("x", Fault.UNREADABLE),
        ("0", Fault.OUT_OF_RANGE),
        ("32767", Fault.OUT_OF_RANGE),
        ("26667", None),
    ],
)
def test_a_supply_that_cannot_be_read_takes_the_pressure_with_it(
    supply: str, fault: Fault | None
) -> None:
    assert decode_one(BAG, "13333", supply)[1] is fault


def test_a_line_too_short_leaves_its_last_channels_unread() -> None:
    _, faults = PortDecoder(CHANNELS).decode(GOOD[:2], ROOM_PA)
    assert faults == (Fault.NOT_READ, None, Fault.NOT_READ, Fault.NOT_READ, Fault.NOT_READ)
    assert PortDecoder(CHANNELS).decode([]) == ((None,) * 5, (Fault.NOT_READ,) * 5)


def test_raws_that_nobody_described_are_left_alone() -> None:
    decoder = PortDecoder(CHANNELS)
    assert decoder.decode((*GOOD, "junk"), ROOM_PA) == decoder.decode(GOOD, ROOM_PA)


def test_a_gauge_reads_nothing_until_somebody_knows_the_room() -> None:
    _, faults = PortDecoder(CHANNELS).decode(GOOD)
    assert faults == (None, None, Fault.NOT_READ, None, None)


@settings(max_examples=1500, deadline=None)
@given(
    st.lists(
        st.one_of(
            st.text(max_size=12),
            st.text(st.sampled_from("0123456789ABCDEF"), min_size=8, max_size=8),
            st.integers(-(2**33), 2**33).map(str),
        ),
        max_size=8,
    )
)
def test_any_raws_are_a_finite_value_or_a_fault(raws: list[str]) -> None:
    values, faults = PortDecoder(CHANNELS).decode(raws, ROOM_PA)
    assert len(values) == len(faults) == len(CHANNELS)
    for value, fault in zip(values, faults, strict=True):
        assert (value is None) != (fault is None)
        assert value is None or math.isfinite(value)


# --- hello --------------------------------------------------------------------------------------


def test_a_hello_that_agrees_raises_no_problem() -> None:
    assert PortDecoder(CHANNELS).agrees(KINDS) == []
    assert PortDecoder(CHANNELS).agrees((*KINDS, "adc12")) == []


def test_a_hello_of_another_kind_is_a_problem_in_words() -> None:
    kinds = ("adc16s", "tc31856", *KINDS[2:])
    assert PortDecoder(CHANNELS).agrees(kinds) == [
        "channel part1: index = 1: the bench file says tc31855, the board says 'tc31856'; "
        "correct the kind or the index"
    ]


def test_a_hello_without_the_supply_is_a_problem_in_words() -> None:
    assert PortDecoder(CHANNELS[:2]).agrees(KINDS[:2]) == [
        "channel bag: supply_index = 5: the board sends 2 raws, counted from 0; "
        "correct the index or the board's firmware"
    ]


def test_every_problem_is_named_at_once() -> None:
    assert len(PortDecoder(CHANNELS).agrees(())) == 6


def test_an_index_below_0_is_refused() -> None:
    with pytest.raises(ValueError, match="channel bag: index -1 must be 0 or above"):
        ChannelAt(name="bag", index=-1, spec=BAG)


# --- what a played board says -------------------------------------------------------------------


@pytest.mark.parametrize("spec", [PART1, PART2, SHOP])
@pytest.mark.parametrize("fault", list(Fault))
def test_a_played_fault_is_heard_as_that_fault(spec: ChannelSpec, fault: Fault) -> None:
    assert decode_one(spec, encode_fault(spec, fault)) == (None, fault)


@pytest.mark.parametrize("fault", [Fault.NOT_READ, Fault.DRIVER, Fault.OPEN, Fault.UNREADABLE])
def test_a_converter_can_say_only_some_faults(fault: Fault) -> None:
    assert decode_one(BAG, encode_fault(BAG, fault)) == (None, fault)


@pytest.mark.parametrize("fault", [Fault.SHORT, Fault.OUT_OF_RANGE, Fault.DEAD_BUS])
def test_a_fault_that_a_converter_cannot_tell_is_refused(fault: Fault) -> None:
    with pytest.raises(ValueError, match="a channel of kind adc16s cannot say"):
        encode_fault(BAG, fault)
