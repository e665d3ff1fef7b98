"""Job description and bench file as frozen values; bounds and units stand beside each field.

Field names are the TOML keys. Pure: the loader reads the file, the core only sees these. Only
`None` means "not given"; every other default is the documented one.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date
from enum import StrEnum
from typing import Annotated

from msgspec import Meta

from firmware_host.config.plan_tables import (
    Conditions,
    CupTest,
    Dropper,
    Form,
    Initiator,
    Lot,
    Override,
    Person,
    Ply,
    PostCure,
    Pump,
    Sheet,
    Target,
    TwoCups,
    Weighed,
)
from firmware_host.config.signal_tables import SignalTable
from firmware_host.config.source_tables import Parity, Source, WordOrder
from firmware_host.model.channels import Quantity

Positive = Annotated[float, Meta(gt=0.0)]
NotNegative = Annotated[float, Meta(ge=0.0)]
Fraction = Annotated[float, Meta(ge=0.0, le=1.0)]
OpenFraction = Annotated[float, Meta(gt=0.0, lt=1.0)]
Text = Annotated[str, Meta(min_length=1, max_length=200)]
Celsius = Annotated[float, Meta(ge=-40.0, le=400.0)]


class Family(StrEnum):
    """Resin families, each with a preset."""

    POLYESTER = "polyester"
    VINYLESTER = "vinylester"
    EPOXY = "epoxy"


@dataclass(frozen=True, slots=True, kw_only=True)
class JobTable:
    """[job]."""

    part: Text
    work_time_min: Annotated[float, Meta(gt=0.0, le=600.0)] = 25.0
    """Honest minutes from mixing to bag closed."""
    rehearsed_min: Annotated[float, Meta(gt=0.0, le=600.0)] | None = None
    """The same, as the dry fit took it; where given, the plan believes this."""
    initiator_percent: Annotated[float, Meta(ge=0.0, le=10.0)] = 0.0
    """Mass of initiator solution per 100 of resin; 0 for two-part epoxy.

    A file that leaves it out is taken to have been dosed at the resin's reference.
    """

    @property
    def honest_min(self) -> float:
        """Work time as rehearsed, else as estimated."""
        return self.work_time_min if self.rehearsed_min is None else self.rehearsed_min


@dataclass(frozen=True, slots=True, kw_only=True)
class Resin:
    """[resin], complete: what the file did not say came from the family's preset.

    For epoxy, or a reference of 0, the loader hands over 0 in all four initiator and induction
    keys: such a resin starts when it is mixed, and `has_initiator` is False.
    """

    family: Family
    hardener_parts_per_100: Annotated[float, Meta(gt=0.0, le=300.0)] | None = None
    initiator_reference_percent: Annotated[float, Meta(ge=0.0, le=10.0)]
    induction_min_at_25c: NotNegative
    induction_activation_kj_per_mol: Annotated[float, Meta(ge=0.0, le=300.0)]
    induction_initiator_exponent: Annotated[float, Meta(ge=0.0, le=5.0)]
    rate_at_25c_per_s: Annotated[float, Meta(gt=0.0, le=10.0)]
    rate_activation_kj_per_mol: Annotated[float, Meta(ge=0.0, le=300.0)]
    rate_initiator_exponent: Annotated[float, Meta(ge=0.0, le=5.0)]
    seed_fraction: Annotated[float, Meta(gt=0.0, lt=0.5)]
    """Above 0: with order_m > 0 a reaction without a seed never starts."""
    order_m: Annotated[float, Meta(ge=0.0, le=5.0)]
    order_n: Annotated[float, Meta(gt=0.0, le=10.0)]
    gel_conversion: OpenFraction
    heat_of_cure_kj_per_kg: Annotated[float, Meta(gt=0.0, le=2000.0)]
    conversion_limit_at_20c: Annotated[float, Meta(gt=0.0, le=1.0)]
    conversion_limit_per_k: Annotated[float, Meta(ge=0.0, le=0.1)]
    ln_rate_sd: Annotated[float, Meta(gt=0.0, le=3.0)] = 0.35
    """Our own doubt: one standard deviation of ln(true rate / stated rate)."""

    @property
    def has_initiator(self) -> bool:
        """Whether dose and inhibitor play a part; else no term may divide by the reference."""
        return self.initiator_reference_percent > 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Laminate:
    """[laminate]."""

    thickness_mm: Annotated[float, Meta(gt=0.0, le=200.0)] = 3.0
    area_m2: Annotated[float, Meta(gt=0.0, le=1000.0)] = 0.3
    resin_mass_fraction: OpenFraction = 0.55
    density_kg_per_m3: Annotated[float, Meta(gt=100.0, le=5000.0)] = 1650.0
    specific_heat_j_per_kgk: Annotated[float, Meta(gt=100.0, le=5000.0)] = 1150.0
    loss_top_w_per_m2k: Annotated[float, Meta(gt=0.0, le=1000.0)] = 9.0
    contact_w_per_m2k: Annotated[float, Meta(gt=0.0, le=10000.0)] = 110.0
    loss_back_w_per_m2k: Annotated[float, Meta(ge=0.0, le=1000.0)] = 6.0
    mould_heat_kj_per_m2k: Annotated[float, Meta(gt=0.0, le=1000.0)] = 16.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Cup:
    """[cup]; only with a cup couple."""

    resin_g: Annotated[float, Meta(gt=0.0, le=20000.0)] = 150.0
    specific_heat_j_per_kgk: Annotated[float, Meta(gt=100.0, le=5000.0)] = 1800.0
    loss_w_per_k: Annotated[float, Meta(gt=0.0, le=100.0)] = 0.20


@dataclass(frozen=True, slots=True, kw_only=True)
class Bag:
    """[bag]. The loader turns `drop_rule` into `drop_limit_pa_per_s`."""

    free_volume_l: Annotated[float, Meta(gt=0.0, le=10000.0)] | None = None
    drop_limit_pa_per_s: Annotated[float, Meta(gt=0.0, le=10000.0)] = 11.28796
    """1 inHg in 5 min unless the person states another."""
    drop_rule: str = "1 inHg in 5 min"
    """The rule in the person's words, for the screen and the report."""
    pressure_limit_mbar: Annotated[float, Meta(gt=0.0, le=1100.0)] = 500.0
    """Above this, once it was below, vacuum is lost."""
    pump_cycle_mbar: tuple[Positive, Positive] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Limits:
    """[limits]."""

    latest_gel_min: Annotated[float, Meta(gt=0.0, le=10000.0)] | None = None
    """After mixing; None: 1.5 x the 95 % high of the forecast at mixing."""
    highest_temperature_c: Annotated[float, Meta(gt=0.0, le=300.0)] = 60.0


@dataclass(frozen=True, slots=True, kw_only=True)
class JobDescription:
    """job.toml, checked and complete."""

    job: JobTable
    resin: Resin
    laminate: Laminate = field(default_factory=Laminate)
    cup: Cup | None = None
    bag: Bag = field(default_factory=Bag)
    limits: Limits = field(default_factory=Limits)
    conditions: Conditions = field(default_factory=Conditions)
    plies: tuple[Ply, ...] = ()
    target: Target | None = None
    dropper: Dropper | None = None
    initiator: Initiator = field(default_factory=Initiator)
    sheet: Sheet | None = None
    cup_tests: tuple[CupTest, ...] = ()
    form: Form | None = None
    pump: Pump = field(default_factory=Pump)
    lots: tuple[Lot, ...] = ()
    two_cups: TwoCups | None = None
    post_cure: PostCure | None = None
    weighed: Weighed | None = None
    people: tuple[Person, ...] = ()
    overrides: tuple[Override, ...] = ()
    assumed: tuple[str, ...] = ()
    """Keys that the file did not give, as `table.key`; their answers are wider."""


# --- bench file ---------------------------------------------------------------------------------


class PortKind(StrEnum):
    """How bytes arrive."""

    BV1 = "bv1"
    SPI = "spi"
    I2C = "i2c"
    MODBUS = "modbus"

    @property
    def is_polled(self) -> bool:
        """Whether the computer asks each part itself, so that every raw needs a [[source]]."""
        return self is not PortKind.BV1


class ChannelKind(StrEnum):
    """What a raw word means; the board's hello must agree."""

    ADC12 = "adc12"
    ADC16S = "adc16s"
    ADC24S = "adc24s"
    TC31855 = "tc31855"
    TC31856 = "tc31856"
    RTD31865 = "rtd31865"
    BMP280 = "bmp280"
    U16 = "u16"
    I16 = "i16"
    U32 = "u32"
    I32 = "i32"
    F32 = "f32"

    @property
    def is_adc(self) -> bool:
        """Whether the raw is a converter count that needs scaling."""
        return self in (ChannelKind.ADC12, ChannelKind.ADC16S, ChannelKind.ADC24S)

    @property
    def is_register(self) -> bool:
        """Whether the raw is a number in the registers of a gauge."""
        return self in (self.U16, self.I16, self.U32, self.I32, self.F32)

    def measures(self, quantity: Quantity) -> bool:
        """Whether a channel of this kind can measure it."""
        if self in (ChannelKind.TC31855, ChannelKind.TC31856, ChannelKind.RTD31865):
            return quantity is Quantity.TEMPERATURE
        return self is not ChannelKind.ADC12 or quantity is Quantity.PRESSURE


class PressureReference(StrEnum):
    """What a transducer measures against."""

    ABSOLUTE = "absolute"
    GAUGE = "gauge"


class Couple(StrEnum):
    """Thermocouple types that the converters and the host know."""

    K = "K"
    J = "J"
    T = "T"


@dataclass(frozen=True, slots=True, kw_only=True)
class BenchTable:
    """[bench]."""

    name: Annotated[
        str,
        Meta(
            pattern=r"^[A-Za-z0-9][A-Za-z0-9_-]{0,39}\Z",
            description="1 to 40 letters, digits, - or _, beginning with a letter or digit",
        ),
    ] = "bench"
    period_s: Annotated[float, Meta(ge=0.02, le=60.0)] = 0.5


@dataclass(frozen=True, slots=True, kw_only=True)
class Port:
    """[[port]]."""

    name: Annotated[str, Meta(min_length=1, max_length=40)]
    kind: PortKind
    device: Annotated[str, Meta(min_length=1, max_length=400)]
    baud: Annotated[int, Meta(ge=300, le=4000000)] = 115200
    parity: Parity = Parity.NONE
    """modbus only."""


@dataclass(frozen=True, slots=True, kw_only=True)
class BenchChannel:
    """[[channel]]. Which of the keys matter depends on the kind."""

    name: str
    port: str
    index: Annotated[int, Meta(ge=0, le=63)]
    """Position among the raws of a sample line."""
    kind: ChannelKind
    reference: PressureReference = PressureReference.ABSOLUTE
    station_pressure_hpa: Annotated[float, Meta(ge=300.0, le=1100.0)] | None = None
    volts_per_count: Annotated[float, Meta(gt=0.0, le=1.0)] | None = None
    supply_index: Annotated[int, Meta(ge=0, le=63)] | None = None
    """Ratiometric: where the supply's own raw stands; None: `supply_v` holds."""
    supply_v: Annotated[float, Meta(gt=0.0, le=50.0)] = 5.0
    zero_fraction: Annotated[float, Meta(ge=-1.0, le=1.0)] = 0.10
    """Of the supply, at 0 Pa (gauge: at room pressure)."""
    span_fraction: Annotated[float, Meta(ge=-2.0, le=2.0)] = 0.80
    """Of the supply, over `full_scale_pa`; not 0."""
    full_scale_pa: Annotated[float, Meta(ge=-2.0e6, le=2.0e6)] = 100000.0
    """Pressure over which `span_fraction` is spread; not 0."""
    lowest_pa: Annotated[float, Meta(ge=0.0, le=100000.0)] | None = None
    """Absolute; below it the gauge shows a number and measures nothing."""
    couple: Couple = Couple.K
    reference_ohm: Positive = 400.0
    """rtd31865 only: the chip's reference resistor."""
    zero_ohm: Positive = 100.0
    """rtd31865 only: the element's resistance at 0 degC."""
    cold_channel: str | None = None
    """A couple straight on a converter: the channel that measures its terminals."""
    unit: str | None = None
    """Registers only: what the number times `scale` plus `offset` counts."""
    scale: float = 1.0
    offset: float = 0.0
    word_order: WordOrder = WordOrder.HIGH_FIRST
    calibrated_on: date | None = None
    """When it was last compared with something known."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Mqtt:
    """[mqtt]; absent: no broker."""

    host: Text
    port: Annotated[int, Meta(ge=1, le=65535)] = 1883
    user: str = ""
    password_file: str = ""
    ca_file: str = ""
    accept_acknowledgements: bool = False
    """Whether a phone may acknowledge an alarm through the broker."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SocketTable:
    """[socket]."""

    path: Annotated[str, Meta(min_length=1, max_length=100)] = "bagvigil.sock"


@dataclass(frozen=True, slots=True, kw_only=True)
class RecordTable:
    """[record]."""

    folder: Annotated[str, Meta(min_length=1, max_length=400)] = "jobs"


@dataclass(frozen=True, slots=True, kw_only=True)
class Bench:
    """bench.toml, checked. Relative paths count from the bench file's own folder."""

    bench: BenchTable = field(default_factory=BenchTable)
    port: tuple[Port, ...] = ()
    source: tuple[Source, ...] = ()
    channel: tuple[BenchChannel, ...] = ()
    signals: SignalTable | None = None
    mqtt: Mqtt | None = None
    socket: SocketTable = field(default_factory=SocketTable)
    record: RecordTable = field(default_factory=RecordTable)
