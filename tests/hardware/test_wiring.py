"""The wiring page against the code: its bench file loads, its parts, kinds and keys exist."""

from __future__ import annotations

import re
from dataclasses import fields
from pathlib import Path

from firmware_host.config.load import parse_bench
from firmware_host.config.schema import ChannelKind
from firmware_host.config.signal_tables import SignalTable
from firmware_host.config.source_tables import Part
from hardware.calibration import PressureScale
from hardware.channels import AdcPressureSpec, Kind
from hardware.readings import Fault

PAGE = (Path(__file__).parents[2] / "hardware" / "wiring.md").read_text(encoding="utf-8")


def test_the_bench_file_of_the_page_loads() -> None:
    (text,) = re.findall(r"```toml\n(.*?)```", PAGE, re.DOTALL)
    bench = parse_bench(text, "wiring.md")
    assert [one.name for one in bench.channel] == ["bag", "part1"]


def test_every_part_and_every_kind_but_the_boards_own_is_on_the_page() -> None:
    assert [part for part in Part if f"`{part}`" not in PAGE] == []
    assert [kind for kind in ChannelKind if f"`{kind}`" not in PAGE] == [ChannelKind.ADC24S]


def test_every_signal_is_on_the_page() -> None:
    assert [one.name for one in fields(SignalTable) if f"`{one.name}`" not in PAGE] == []


def test_the_current_loop_of_the_page_reads_its_ends_and_a_broken_loop() -> None:
    loop = AdcPressureSpec(
        kind=Kind.ADC16S,
        volts_per_count=187.5e-6,
        supply_v=4.4,
        zero_fraction=0.2,
        span_fraction=0.8,
    )
    scale = PressureScale(loop)
    for milliamperes, pressure_pa in ((4.0, 0.0), (12.0, 50000.0), (20.0, 100000.0)):
        count = round(milliamperes * 1e-3 * 220.0 / 187.5e-6)
        value = scale.read(count).value
        assert value is not None
        assert abs(value - pressure_pa) < 5.0  # one count is 5.3 Pa
    assert scale.read(0).fault is Fault.OPEN
