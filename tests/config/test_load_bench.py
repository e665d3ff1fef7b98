from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from firmware_host.config.load import load_bench, parse_bench
from firmware_host.config.schema import (
    Bench,
    BenchChannel,
    BenchTable,
    ChannelKind,
    Couple,
    Mqtt,
    Port,
    PortKind,
    PressureReference,
    RecordTable,
    SocketTable,
)
from firmware_host.errors import InputError

FULL = """
[bench]
name = "north-bench"
period_s = 0.5
[[port]]
name = "board"
kind = "bv1"                    # bv1 | modbus | spi | i2c ...
device = "/dev/serial/by-id/usb-board"
[[channel]]
name = "bag"
port = "board"
index = 0
kind = "adc16s"
reference = "absolute"
volts_per_count = 187.5e-6
supply_index = 5
zero_fraction = 0.10
span_fraction = 0.80
full_scale_pa = 100000.0
[[channel]]
name = "part1"
port = "board"
index = 1
kind = "tc31855"
couple = "K"
[mqtt]
host = "127.0.0.1"
port = 1883
user = "bench"
password_file = "mqtt.secret"
ca_file = ""
[socket]
path = "bagvigil.sock"
[record]
folder = "jobs"
"""
PORT = '[[port]]\nname = "board"\nkind = "bv1"\ndevice = "/dev/ttyACM0"\n'


def channel(name: str, kind: str, index: int = 0, more: str = "", port: str = "board") -> str:
    return (
        f'[[channel]]\nname = "{name}"\nport = "{port}"\nindex = {index}\nkind = "{kind}"\n{more}\n'
    )


def problems_of(text: str) -> tuple[str, ...]:
    with pytest.raises(InputError) as caught:
        parse_bench(text, "bench.toml")
    return caught.value.problems


def test_every_table_of_a_full_file_arrives_as_written() -> None:
    assert parse_bench(FULL, "bench.toml") == Bench(
        bench=BenchTable(name="north-bench", period_s=0.5),
        port=(Port(name="board", kind=PortKind.BV1, device="/dev/serial/by-id/usb-board"),),
        channel=(
            BenchChannel(
                name="bag",
                port="board",
                index=0,
                kind=ChannelKind.ADC16S,
                reference=PressureReference.ABSOLUTE,
                volts_per_count=187.5e-6,
                supply_index=5,
                zero_fraction=0.10,
                span_fraction=0.80,
                full_scale_pa=100000.0,
            ),
            BenchChannel(
                name="part1", port="board", index=1, kind=ChannelKind.TC31855, couple=Couple.K
            ),
        ),
        mqtt=Mqtt(
            host="127.0.0.1", port=1883, user="bench", password_file="mqtt.secret", ca_file=""
        ),
        socket=SocketTable(path="bagvigil.sock"),
        record=RecordTable(folder="jobs"),
    )


def test_an_empty_file_is_a_bench_that_measures_nothing() -> None:
    assert parse_bench("", "bench.toml") == Bench()


def test_a_bench_without_a_bag_transducer_is_accepted() -> None:
    bench = parse_bench(PORT + channel("part1", "tc31856"), "bench.toml")
    assert [one.name for one in bench.channel] == ["part1"]


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ('[bench]\nname = "a/b"\n', "must be 1 to 40 letters, digits, - or _"),
        ('[bench]\nname = "a\\n"\n', "holds a character that cannot be shown"),
        ('[[port]]\nname = "a"\nkind = "bv2"\n', "must be one of bv1, spi, i2c, modbus. Did"),
        ('[[port]]\nname = "a"\nkind = "bv1"\n', "has no device. Add a line device = ... (the"),
        (PORT + PORT, 'line 6: [[port]] number 2: name = "board" is used twice, first on line 2.'),
        (PORT + PORT, "line 8: [[port]] number 2: device = "),
        (channel("bag", "adc12"), "names no port; there is no [[port]]."),
        (PORT + channel("bag", "adc12", port="bord"), "Did you mean board?"),
        (PORT + channel("part", "tc31855"), "must be its role: bag, pump, barometer, part1"),
        (PORT + channel("part", "tc31855"), "Did you mean part1?"),
        (PORT + channel("bag", "tc31855"), 'does not measure a pressure, but "bag" is one.'),
        (
            PORT + channel("mould", "adc12"),
            "Use adc16s, adc24s, tc31855, tc31856, rtd31865,",
        ),
        (PORT + channel("bag", "adc16s"), 'channel]] "bag" of kind adc16s has no volts_per_count.'),
        (PORT + channel("bag", "adc24s"), 'channel]] "bag" of kind adc24s has no volts_per_count.'),
        (PORT + channel("bag", "adc12", more="span_fraction = 0.0"), "span_fraction = 0.0 must no"),
        (
            PORT + channel("bag", "adc12", more="full_scale_pa = 0"),
            "full_scale_pa = 0.0 must not b",
        ),
        (PORT + channel("bag", "adc12", more='couple = "K"'), "means nothing to the kind adc12."),
        (PORT + channel("part1", "tc31855", more="zero_ohm = 100"), "means nothing to the kind tc"),
        (PORT + channel("bag", "adc12", more='reference = "gauge"'), "needs the room's pressure"),
        (
            PORT + channel("barometer", "adc12", more='reference = "gauge"'),
            "cannot hold for a baro",
        ),
        (PORT + channel("bag", "adc12", more="supply_index = 0"), 'is the position of "bag".'),
        (PORT + channel("bag", "adc12", index=64), "index = 64 must be at least 0 and at most 63"),
        ("[mqtt]\nport = 1883\n", "[mqtt] has no host."),
        ("[signals]\nbuzzer_pin = 28\n", "buzzer_pin = 28 must be at least 0 and at most 27"),
        (
            "[signals]\nbuzzer_pin = 5\ntone_pin = 5\n",
            "[signals] tone_pin = 5 is that of buzzer_pin too. Give one of them another pin.",
        ),
        ("[mqt]\n", "there is no table [mqt]. Did you mean mqtt?"),
    ],
)
def test_a_wrong_bench_is_named(text: str, message: str) -> None:
    assert message in "\n".join(problems_of(text))


def test_two_channels_of_one_name_or_position_are_named() -> None:
    text = PORT + channel("bag", "adc12", 0) + channel("bag", "adc12", 0)
    assert problems_of(text) == (
        'bench.toml line 12: [[channel]] number 2: name = "bag" is used twice, first on line 6. '
        "Give one of them another name.",
        'bench.toml line 14: [[channel]] number 2: index = 0 is taken by "bag" on the same port. '
        "Count the raws from 0.",
    )


@pytest.mark.parametrize(
    "text",
    [
        channel("bag", "adc12", more='reference = "gauge"\nstation_pressure_hpa = 1009.0'),
        channel("bag", "adc12", more='reference = "gauge"') + channel("barometer", "adc12", 1),
        channel("bag", "adc12", more="supply_index = 5")
        + channel("pump", "adc12", 1, more="supply_index = 5"),
        channel("bag", "adc12", more="zero_fraction = 0.0"),
        channel("shop", "rtd31865", more="zero_ohm = 1000.0"),
    ],
)
def test_a_sensible_bench_is_accepted(text: str) -> None:
    assert parse_bench(PORT + text, "bench.toml").port[0].name == "board"


def test_equal_positions_on_two_ports_do_not_clash() -> None:
    second = '[[port]]\nname = "other"\nkind = "bv1"\ndevice = "/dev/ttyACM1"\n'
    text = PORT + second + channel("bag", "adc12") + channel("pump", "adc12", port="other")
    assert len(parse_bench(text, "bench.toml").channel) == 2


def test_a_missing_file_says_so(tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"none\.toml does not exist\. Check the name"):
        load_bench(tmp_path / "none.toml")


@given(st.text())
def test_any_text_is_a_bench_or_a_list_of_problems(text: str) -> None:
    try:
        parse_bench(text, "bench.toml")
    except InputError as error:
        assert error.problems


FRAGMENTS = st.sampled_from(
    [
        PORT,
        channel("bag", "adc12", 1),
        channel("part1", "adc12", 2, "reference = 'gauge'"),
        channel("x", "tc31855", -1),
        "[[channel]]",
        "[channel]",
        "[[port]]",
        "kind = 3",
        "name = []",
        "port = 1",
        "index = 2.5",
        "[mqtt]",
    ]
)


@given(st.lists(FRAGMENTS, max_size=6))
def test_any_file_of_known_words_is_a_bench_or_a_list_of_problems(parts: list[str]) -> None:
    try:
        parse_bench("\n".join(parts), "bench.toml")
    except InputError as error:
        assert all(problem.startswith("bench.toml") for problem in error.problems)
