from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from hardware.channels import Kind, Reference, RegisterSpec
from hardware.decoder import ChannelAt, PortDecoder
from hardware.readings import FAULTY, Fault, Reading
from hardware.registers import read_registers, register_raw


def spec(kind: Kind = Kind.F32, unit: str = "mbar", **more: Any) -> RegisterSpec:  # noqa: ANN401 - keys of the spec
    return RegisterSpec(kind=kind, unit=unit, **more)


@pytest.mark.parametrize(
    ("raw", "described", "pressure_pa"),
    [
        ("3F800000", spec(), 100.0),  # 1.0 mbar, IEEE 754 high word first
        ("00003F80", spec(low_word_first=True), 100.0),
        ("01F4", spec(Kind.U16), 50000.0),
        ("FFFF", spec(Kind.I16, "Pa"), -1.0),
        ("FFFF", spec(Kind.U16, "Pa"), 65535.0),
        ("0000C350", spec(Kind.U32, "Pa"), 50000.0),
        ("C3500000", spec(Kind.U32, "Pa", low_word_first=True), 50000.0),
        ("FFFFFC18", spec(Kind.I32, "Pa"), -1000.0),
        ("1388", spec(Kind.U16, scale=0.1), 50000.0),
        ("0FA0", spec(Kind.U16, scale=0.0625, offset=250.0), 50000.0),
    ],
)
def test_registers_read_by_kind_order_scale_and_unit(
    raw: str, described: RegisterSpec, pressure_pa: float
) -> None:
    assert read_registers(raw, described, None).value == pytest.approx(pressure_pa)
    assert register_raw(pressure_pa, described) == raw


def test_a_temperature_in_registers_is_in_kelvin() -> None:
    assert read_registers("00FA", spec(Kind.I16, "degC", scale=0.1), None) == Reading(298.15)


@pytest.mark.parametrize(
    ("raw", "described", "fault"),
    [
        ("7FC00000", spec(), Fault.UNREADABLE),  # NaN
        ("7F800000", spec(), Fault.UNREADABLE),  # infinity
        ("FFFFFFFF", spec(), Fault.UNREADABLE),  # NaN too
        ("3F80", spec(), Fault.UNREADABLE),
        ("3F800000", spec(Kind.U16), Fault.UNREADABLE),
        ("3F8000G0", spec(), Fault.UNREADABLE),
        ("FFFF", spec(Kind.U16), Fault.OUT_OF_RANGE),  # 65535 mbar
        ("FF00", spec(Kind.I16), Fault.OUT_OF_RANGE),  # -256 mbar absolute
        ("8000", spec(Kind.I16, "degC"), Fault.OUT_OF_RANGE),
    ],
)
def test_what_no_gauge_can_mean_has_no_value(
    raw: str, described: RegisterSpec, fault: Fault
) -> None:
    assert read_registers(raw, described, None) == FAULTY[fault]


@pytest.mark.parametrize(
    ("pressure_pa", "reads"), [(102500.0, True), (105000.0, True), (105001.0, False)]
)
def test_an_absolute_gauge_may_stand_in_any_room_and_no_higher(
    pressure_pa: float, *, reads: bool
) -> None:
    raw = register_raw(pressure_pa, spec(Kind.I32, "Pa"))
    assert (read_registers(raw, spec(Kind.I32, "Pa"), None).value is not None) is reads


def test_a_vacuum_gauge_stands_on_the_measured_room_before_the_written_one() -> None:
    gauge = spec(reference=Reference.GAUGE, full_scale_pa=-100000.0, station_pressure_pa=100000.0)
    raw = register_raw(40000.0, gauge, 101300.0)
    assert read_registers(raw, gauge, 101300.0).value == pytest.approx(40000.0, abs=0.01)
    assert read_registers(raw, gauge, None).value == pytest.approx(38700.0, abs=0.01)


def test_a_vacuum_gauge_without_a_room_is_no_reading() -> None:
    gauge = spec(reference=Reference.GAUGE, full_scale_pa=-100000.0)
    assert read_registers("C3FA0000", gauge, None) == FAULTY[Fault.NOT_READ]
    with pytest.raises(ValueError, match="needs station_pressure_pa"):
        register_raw(50000.0, gauge)


@pytest.mark.parametrize(("raw", "fault"), [("-", Fault.NOT_READ), ("!2", Fault.DRIVER)])
def test_what_the_port_says_of_a_register_is_its_fault(raw: str, fault: Fault) -> None:
    decoder = PortDecoder([ChannelAt(name="bag", index=0, spec=spec())])
    assert decoder.decode([raw]) == ((None,), (fault,))
    assert decoder.decode([]) == ((None,), (Fault.NOT_READ,))


@given(
    st.floats(0.0, 100000.0),
    st.sampled_from([Kind.U32, Kind.I32, Kind.F32]),
    st.booleans(),
)
def test_a_pressure_comes_back_within_the_registers_step(
    pressure_pa: float,
    kind: Kind,
    low_word_first: bool,  # noqa: FBT001 - generated
) -> None:
    described = spec(kind, "Pa", low_word_first=low_word_first, scale=0.01)
    raw = register_raw(pressure_pa, described)
    assert read_registers(raw, described, None).value == pytest.approx(pressure_pa, abs=0.006)


@pytest.mark.parametrize(
    ("given_keys", "message"),
    [
        ({"kind": Kind.ADC12, "unit": "Pa"}, "is no register"),
        ({"kind": Kind.U16, "unit": "psi"}, "unit 'psi' is none of Pa, hPa"),
        ({"kind": Kind.U16, "unit": "Pa", "scale": 0.0}, "scale = 0 would"),
        ({"kind": Kind.U16, "unit": "Pa", "offset": float("nan")}, "offset = nan is not"),
    ],
)
def test_a_register_that_measures_nothing_is_refused(
    given_keys: dict[str, Any], message: str
) -> None:
    with pytest.raises(ValueError, match=message):
        RegisterSpec(**given_keys)
