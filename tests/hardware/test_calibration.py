"""Counts to pascal, against the arithmetic of datasheets and an application note."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from hardware.calibration import PressureScale
from hardware.channels import COUNT_RANGES, AdcPressureSpec, Kind, Reference
from hardware.readings import FAULTY, Fault, Reading

LSB_16_V = 187.5e-6
"""16-bit converter at +-6.144 V: 6.144 V / 2^15."""

RATIO_12 = PressureScale(AdcPressureSpec(kind=Kind.ADC12))
FIXED_16 = PressureScale(AdcPressureSpec(kind=Kind.ADC16S, volts_per_count=LSB_16_V))
RATIO_16 = PressureScale(
    AdcPressureSpec(kind=Kind.ADC16S, volts_per_count=LSB_16_V, supply_index=1)
)
GAUGE = AdcPressureSpec(kind=Kind.ADC12, reference=Reference.GAUGE, full_scale_pa=-100000.0)


def volts(value: float) -> int:
    return round(value / LSB_16_V)


def pascal(reading: Reading) -> float:
    assert reading.fault is None
    assert reading.value is not None
    return reading.value


@pytest.mark.parametrize(
    ("count", "pressure_pa"), [(410, 0.0), (819, 12500.0), (2048, 50000.0), (3686, 100000.0)]
)
def test_12_bits_referred_to_the_supply_read_the_usual_transducer(
    count: int, pressure_pa: float
) -> None:
    # 0.5, 1.0, 2.5 and 4.5 V of 5 V; MCP3208 code = 4096 V / Vref (sheet DS21298E), +- half a code
    assert pascal(RATIO_12.read(count)) == pytest.approx(pressure_pa, abs=0.5 * 30.6)


@pytest.mark.parametrize(
    ("code", "pressure_pa"),
    [(0x0A6B, 0.0), (0x3415, 50000.0), (0x5DC0, 100000.0)],  # 0.500, 2.500, 4.500 V at +-6.144 V
)
def test_16_bits_read_the_usual_transducer(code: int, pressure_pa: float) -> None:
    assert pascal(FIXED_16.read(code)) == pytest.approx(pressure_pa, abs=0.5 * 4.7)


def test_one_step_of_each_converter_is_what_arithmetic_says() -> None:
    wide = PressureScale(AdcPressureSpec(kind=Kind.ADC12, full_scale_pa=110000.0))
    step_12 = pascal(wide.read(2001)) - pascal(wide.read(2000))
    step_16 = pascal(FIXED_16.read(13334)) - pascal(FIXED_16.read(13333))
    assert step_12 == pytest.approx(33.57, abs=0.005)  # 110 kPa / (0.8 x 4096)
    assert step_16 == pytest.approx(4.6875, abs=1e-6)  # 100 kPa x 187.5 uV / 4 V


@pytest.mark.parametrize("supply_v", [4.5, 4.9, 4.95, 5.0, 5.05, 5.5])
def test_a_measured_supply_that_sags_moves_nothing(supply_v: float) -> None:
    reading = RATIO_16.read(volts(supply_v / 2.0), volts(supply_v))
    assert pascal(reading) == pytest.approx(50000.0, abs=5.0)


def test_a_sag_that_is_not_measured_does_move_the_reading() -> None:
    # 4.9 V supply, 2.45 V signal, taken for 5 V: (0.49 - 0.1) / 0.8 of 100 kPa
    assert pascal(FIXED_16.read(volts(2.45))) == pytest.approx(48750.0, abs=5.0)


def test_without_volts_per_count_the_measured_supply_is_enough() -> None:
    scale = PressureScale(AdcPressureSpec(kind=Kind.ADC24S, supply_index=0))
    assert pascal(scale.read(2_000_000, 4_000_000)) == pytest.approx(50000.0)


def test_a_vacuum_gauge_reads_as_its_application_note_says() -> None:
    # V = Vs (0.007652 P + 0.92), P = -115..0 kPa; the note gives 2.30 V at -60 kPa and 5 V.
    spec = AdcPressureSpec(
        kind=Kind.ADC16S,
        volts_per_count=LSB_16_V,
        zero_fraction=0.92,
        span_fraction=-0.007652 * 115.0,
        full_scale_pa=-115000.0,
        reference=Reference.GAUGE,
    )
    count = PressureScale(spec).count(41325.0, station_pressure_pa=101325.0)
    assert count * LSB_16_V == pytest.approx(2.30, abs=0.005)
    reading = PressureScale(spec).read(volts(2.3044), station_pressure_pa=101325.0)
    assert pascal(reading) == pytest.approx(41325.0, abs=5.0)


# --- what is no reading -------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("volts_out", "fault"),
    [
        (0.0, Fault.OPEN),
        (0.2490, Fault.OPEN),
        (0.2510, Fault.OUT_OF_RANGE),
        (0.3990, Fault.OUT_OF_RANGE),  # -2.5 % of full scale is 0.4 V
        (0.4010, None),
        (4.6990, None),  # +5 % of full scale is 4.7 V
        (4.7010, Fault.OUT_OF_RANGE),
        (4.7490, Fault.OUT_OF_RANGE),
        (4.7510, Fault.OPEN),
        (5.0, Fault.OPEN),
    ],
)
def test_the_edges_of_what_a_transducer_can_say(volts_out: float, fault: Fault | None) -> None:
    assert FIXED_16.read(volts(volts_out)).fault is fault


def test_the_limits_of_a_broken_lead_follow_the_supply() -> None:
    assert RATIO_16.read(volts(0.24), volts(5.0)).fault is Fault.OPEN
    assert RATIO_16.read(volts(0.24), volts(4.5)).fault is Fault.OUT_OF_RANGE


@pytest.mark.parametrize("kind", [Kind.ADC12, Kind.ADC16S, Kind.ADC24S])
def test_the_end_codes_of_a_converter_are_never_a_pressure(kind: Kind) -> None:
    lowest, highest = COUNT_RANGES[kind]
    # A line from rail to rail, so that no other rule can take the end codes away.
    spec = AdcPressureSpec(
        kind=kind,
        volts_per_count=5.0 / highest,
        zero_fraction=0.0 if kind is Kind.ADC12 else -1.0,
        span_fraction=1.0 if kind is Kind.ADC12 else 2.0,
    )
    scale = PressureScale(spec)
    assert scale.read(highest) == FAULTY[Fault.OUT_OF_RANGE]
    assert scale.read(lowest).value is None
    assert pascal(scale.read(highest - 1)) == pytest.approx(100000.0, rel=0.001)


def test_a_clipped_converter_is_out_of_range_not_broken() -> None:
    # +-4.096 V range on a 0.5..4.5 V transducer clips at 4.096 V, which would read as 899 mbar.
    clipping = PressureScale(AdcPressureSpec(kind=Kind.ADC16S, volts_per_count=125e-6))
    assert clipping.read(32767) == FAULTY[Fault.OUT_OF_RANGE]
    assert pascal(clipping.read(32766)) == pytest.approx(89895.0, abs=10.0)


@pytest.mark.parametrize(
    ("supply_count", "fault"),
    [
        (None, Fault.NOT_READ),
        (0, Fault.OUT_OF_RANGE),
        (-5, Fault.OUT_OF_RANGE),
        (volts(1.99), Fault.OUT_OF_RANGE),
        (volts(2.01), None),
        (32766, None),
        (32767, Fault.OUT_OF_RANGE),
    ],
)
def test_without_a_believable_supply_there_is_no_reading(
    supply_count: int | None, fault: Fault | None
) -> None:
    count = (supply_count or 26667) // 2
    assert RATIO_16.read(count, supply_count).fault is fault


def test_a_supply_of_unknown_volts_must_be_a_sixteenth_of_the_range() -> None:
    scale = PressureScale(AdcPressureSpec(kind=Kind.ADC16S, supply_index=1))
    assert scale.read(1024, 2048).fault is None
    assert scale.read(1023, 2046).fault is Fault.OUT_OF_RANGE


def test_an_output_whose_line_runs_past_the_rail_is_not_believed_at_the_rail() -> None:
    # A manifold sensor, V = Vs (0.009 P - 0.095) with P in kPa: 0 V would read as 10.6 kPa.
    spec = AdcPressureSpec(
        kind=Kind.ADC16S,
        volts_per_count=LSB_16_V,
        zero_fraction=-0.095,
        span_fraction=0.009 * 115.0,
        full_scale_pa=115000.0,
    )
    scale = PressureScale(spec)
    assert scale.read(volts(0.049)).fault is Fault.OPEN
    assert pascal(scale.read(volts(0.051))) == pytest.approx(11690.0, abs=20.0)


# --- absolute and gauge -------------------------------------------------------------------------


def test_slightly_below_nothing_stays_as_measured() -> None:
    assert pascal(RATIO_12.read(400)) == pytest.approx(-293.0, abs=1.0)


def test_a_gauge_reading_stands_on_the_room_it_is_told() -> None:
    half = 2048
    told = PressureScale(GAUGE).read(half, station_pressure_pa=98000.0)
    assert pascal(told) == pytest.approx(48000.0)


def test_a_measured_room_goes_before_the_written_one() -> None:
    spec = AdcPressureSpec(
        kind=Kind.ADC12,
        reference=Reference.GAUGE,
        full_scale_pa=-100000.0,
        station_pressure_pa=95000.0,
    )
    scale = PressureScale(spec)
    assert pascal(scale.read(2048)) == pytest.approx(45000.0)
    assert pascal(scale.read(2048, station_pressure_pa=98000.0)) == pytest.approx(48000.0)


def test_a_gauge_without_a_room_is_no_reading() -> None:
    assert PressureScale(GAUGE).read(2048) == FAULTY[Fault.NOT_READ]
    with pytest.raises(ValueError, match="needs station_pressure_pa to be encoded"):
        PressureScale(GAUGE).count(50000.0)


def test_more_vacuum_than_the_room_holds_is_out_of_range() -> None:
    scale = PressureScale(GAUGE)
    full = 3686  # -100 kPa
    assert scale.read(full, station_pressure_pa=97600.0).fault is None
    assert scale.read(full, station_pressure_pa=97400.0) == FAULTY[Fault.OUT_OF_RANGE]


# --- there and back -----------------------------------------------------------------------------


@settings(deadline=None)
@given(st.floats(-2000.0, 104000.0), st.floats(4.5, 5.5))
def test_a_pressure_comes_back_within_half_a_step(pressure_pa: float, supply_v: float) -> None:
    count = RATIO_16.count(pressure_pa, supply_v=supply_v)
    reading = RATIO_16.read(count, RATIO_16.supply_count(supply_v))
    # Half a step of the signal and half a step of the supply.
    assert pascal(reading) == pytest.approx(pressure_pa, abs=6.0)


@settings(deadline=None)
@given(st.floats(-2000.0, 104000.0), st.floats(4.5, 5.5))
def test_12_bits_come_back_whatever_the_supply(pressure_pa: float, supply_v: float) -> None:
    count = RATIO_12.count(pressure_pa, supply_v=supply_v)
    assert pascal(RATIO_12.read(count)) == pytest.approx(pressure_pa, abs=15.3)


def test_a_count_comes_back_exactly() -> None:
    counts = range(340, 3840)
    assert [RATIO_12.count(pascal(RATIO_12.read(count))) for count in counts] == list(counts)


def test_a_converter_clips_at_its_ends() -> None:
    assert RATIO_12.count(1e9) == 4095
    assert RATIO_12.count(-1e9) == 0
    assert RATIO_16.supply_count(50.0) == 32767


def test_what_has_no_volts_cannot_be_encoded() -> None:
    scale = PressureScale(AdcPressureSpec(kind=Kind.ADC16S, supply_index=1))
    with pytest.raises(ValueError, match="needs volts_per_count to be encoded"):
        scale.count(50000.0)
