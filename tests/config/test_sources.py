"""[[source]]: the raws of a bus of the computer's own, and the channels that are made of them."""

from __future__ import annotations

import pytest

from firmware_host.config.load import parse_bench
from firmware_host.config.schema import ChannelKind, PortKind
from firmware_host.config.source_tables import Parity, Part, Source, WordOrder
from firmware_host.errors import InputError

SPI = '[[port]]\nname = "spi"\nkind = "spi"\ndevice = "/dev/spidev0"\n'
I2C = '[[port]]\nname = "i2c"\nkind = "i2c"\ndevice = "/dev/i2c-1"\n'
LINE = '[[port]]\nname = "rs485"\nkind = "modbus"\ndevice = "/dev/ttyUSB0"\nbaud = 19200\n'
BOARD = '[[port]]\nname = "board"\nkind = "bv1"\ndevice = "/dev/ttyACM0"\n'


def source(port: str, index: int, part: str, more: str = "") -> str:
    return f'[[source]]\nport = "{port}"\nindex = {index}\npart = "{part}"\n{more}\n'


def channel(name: str, port: str, index: int, kind: str, more: str = "") -> str:
    return (
        f'[[channel]]\nname = "{name}"\nport = "{port}"\nindex = {index}\nkind = "{kind}"\n{more}\n'
    )


def problems(text: str) -> str:
    with pytest.raises(InputError) as caught:
        parse_bench(text, "bench.toml")
    return str(caught.value)


ADC = source("i2c", 0, "ads1115", "address = 0x48")
ROOM = source("i2c", 1, "bmp280", "address = 0x76")
VOLTS = "volts_per_count = 187.5e-6"


def test_every_kind_of_port_arrives_as_written() -> None:
    bench = parse_bench(
        SPI
        + I2C
        + LINE
        + 'parity = "even"\n'
        + source("spi", 0, "max31855", "select = 1")
        + source("spi", 1, "max31865", "select = 2\nwires = 3")
        + ADC
        + ROOM
        + source("rs485", 0, "holding_register", "unit = 17\nregister = 107")
        + channel("part1", "spi", 0, "tc31855")
        + channel("mould", "spi", 1, "rtd31865")
        + channel("pump", "i2c", 0, "adc16s", VOLTS)
        + channel("barometer", "i2c", 1, "bmp280")
        + channel("shop", "i2c", 1, "bmp280")
        + channel("bag", "rs485", 0, "f32", 'unit = "mbar"\nword_order = "low_first"'),
        "bench.toml",
    )
    assert [port.kind for port in bench.port] == [PortKind.SPI, PortKind.I2C, PortKind.MODBUS]
    assert bench.port[2].parity is Parity.EVEN
    assert bench.source[1] == Source(port="spi", index=1, part=Part.MAX31865, select=2, wires=3)
    assert bench.source[3].address == 0x76
    assert bench.source[4].register == 107
    bag = bench.channel[-1]
    assert (bag.kind, bag.unit) == (ChannelKind.F32, "mbar")
    assert bag.word_order is WordOrder.LOW_FIRST


def test_a_couple_on_a_converter_names_what_measures_its_terminals() -> None:
    bench = parse_bench(
        I2C
        + source("i2c", 0, "ads1115", 'address = 0x48\ninput = "0-1"\nrange_v = 0.256')
        + ROOM
        + channel("shop", "i2c", 1, "bmp280")
        + channel(
            "part1", "i2c", 0, "adc16s", 'couple = "T"\nvolts_per_count = 7.8125e-6\n'
            'cold_channel = "shop"'
        ),
        "bench.toml",
    )  # fmt: skip
    assert bench.channel[1].cold_channel == "shop"


@pytest.mark.parametrize(
    ("text", "message"),
    [
        (source("i2c", 0, "ads1115", "address = 72"), "names no port that can be read"),
        (BOARD + source("board", 0, "ads1115", "address = 72"), "is a board, which says itself"),
        (SPI + source("spi", 0, "ads1115", "address = 72"), "does not hang on spi; there it is on"),
        (I2C + source("i2c", 0, "ads1115"), "part ads1115 has no address. Add a line address"),
        (LINE + source("rs485", 0, "input_register"), "has no register. Add a line register"),
        (SPI + source("spi", 0, "max31855", "wires = 3"), "means nothing to the part max31855"),
        (SPI + source("spi", 0, "mcp3208", 'input = "8"'), "must be one of 0, 1, 2, 3, 4, 5, 6, 7"),
        (
            I2C + source("i2c", 0, "ads1115", 'address = 72\ninput = "1-2"'),
            "must be one of 0-1, 0-3, 1-3, 2-3, 0, 1, 2, 3 on ads1115",
        ),
        (I2C + source("i2c", 0, "ads1115", "address = 72\nrange_v = 5.0"), "6.144, 4.096, 2.048"),
        (I2C + source("i2c", 1, "bmp280", "address = 118"), "must be one of 0 to 0, each once"),
        (I2C + ADC + ADC, "must be one of 0 to 1, each once"),
        (
            I2C + ADC + source("i2c", 1, "bmp280", "address = 0x48"),
            "address = 72 is that of the ads1115; no bmp280 can answer there too.",
        ),
        (
            SPI + source("spi", 0, "max31855") + source("spi", 1, "max31856"),
            "select = 0 is that of the max31855; no max31856 can answer there too.",
        ),
        (SPI + "baud = 9600\n", "means nothing to a port of kind spi"),
        (BOARD + 'parity = "even"\n', "means nothing to a port of kind bv1"),
        (I2C + channel("bag", "i2c", 0, "adc16s", VOLTS), "has no [[source]] with index = 0"),
        (
            I2C + ADC + channel("bag", "i2c", 0, "adc16s", VOLTS + "\nsupply_index = 3"),
            "supply_index = 3 has no [[source]]",
        ),
        (
            I2C + ADC + channel("bag", "i2c", 0, "adc24s", VOLTS),
            "is read from the part ads1115, which gives adc16s.",
        ),
        (
            I2C + ADC + channel("bag", "i2c", 0, "adc16s", "volts_per_count = 125e-6"),
            "does not fit range_v = 6.144 of its source: that is 0.0001875 V.",
        ),
        (
            I2C + ROOM.replace("index = 1", "index = 0") + channel("bag", "i2c", 0, "adc12"),
            "is read from the part bmp280, which gives bmp280.",
        ),
        (BOARD + channel("bag", "board", 0, "f32"), '"bag" has no unit. Add one of Pa, hPa'),
        (BOARD + channel("bag", "board", 0, "f32", 'unit = "psi"'), "must be one of Pa, hPa"),
        (BOARD + channel("shop", "board", 0, "i16", 'unit = "Pa"'), "one of K, degC, degF."),
        (
            BOARD + channel("bag", "board", 0, "u16", 'unit = "Pa"\nword_order = "low_first"'),
            "means nothing to the kind u16",
        ),
        (BOARD + channel("bag", "board", 0, "u16", 'unit = "Pa"\nscale = 0'), "no reading could"),
        (BOARD + channel("part1", "board", 0, "adc16s", VOLTS), "has no cold_channel. Name"),
        (
            BOARD + channel("part1", "board", 0, "adc16s", VOLTS + '\ncold_channel = "mould"'),
            "names no channel of its port that measures its terminals",
        ),
        (
            BOARD + channel("part1", "board", 0, "adc16s", VOLTS + "\nzero_fraction = 0.1"),
            "means nothing to a couple on a converter",
        ),
        (
            BOARD
            + channel("barometer", "board", 0, "bmp280")
            + channel("bag", "board", 0, "bmp280"),
            'is taken by "barometer" on the same port',
        ),
        (
            BOARD + channel("bag", "board", 0, "f32", 'unit = "mbar"\nreference = "gauge"'),
            "needs the room's pressure",
        ),
    ],
)  # fmt: skip
def test_a_wrong_source_or_channel_is_named(text: str, message: str) -> None:
    assert message in problems(text)
