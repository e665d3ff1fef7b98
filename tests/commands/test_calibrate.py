"""`bagvigil calibrate` over emulated chips and typed numbers."""

from __future__ import annotations

import argparse
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from firmware_host.cli import _parser
from firmware_host.clock import ScaledClock
from firmware_host.config.load import load_bench, load_job
from firmware_host.errors import InputError
from hardware.board.chips import I2cBus, SpiBus
from simulations.chips import LinearCoupleChip, TwelveBitConverter
from tests.commands.spoken import Say
from tests.system.drawers import HEAD, channel, port, source
from tests.system.room import JOB

BENCH = (
    HEAD.format(period_s=0.5)
    + port("spi", "/dev/spidev0")
    + source(0, "mcp3208", "select = 0")
    + source(1, "max31855", "select = 1")
    + channel("bag", 0, "adc12", "zero_fraction = 0.10 # by the sheet")
    + channel("part1", 1, "tc31855")
)


class Chips:
    """A transducer whose count a test sets, and a couple at 0.25 degC over a board at 25 degC."""

    def __init__(self) -> None:
        self.count = 0
        self.word = "FFF01900"
        self._chips: dict[int, SpiBus] = {
            0: TwelveBitConverter({0: lambda: str(self.count)}),
            1: LinearCoupleChip(lambda: self.word),
        }

    def spi(self, device: str, select: int, mode: int) -> SpiBus:
        assert (device, mode) == ("/dev/spidev0", 0)
        return self._chips[select]

    def i2c(self, device: str, address: int) -> I2cBus:
        raise AssertionError(f"nothing hangs on {device} at {address}")

    def close(self) -> None:
        """Nothing was opened."""


Calibrate = Callable[..., int]


@pytest.fixture
def chips() -> Chips:
    return Chips()


@pytest.fixture
def calibrate(here: Path, chips: Chips) -> Calibrate:
    (here / "bench.toml").write_text(BENCH, encoding="utf-8")
    (here / "job.toml").write_text(JOB, encoding="utf-8")

    def run(*words: object) -> int:
        given = ["calibrate", *(str(word) for word in words), "--by", "Kim"]
        args: argparse.Namespace = _parser(given).parse_args(given)
        code: int = args.calibrate(args, ScaledClock(20.0), lambda: chips)
        return code

    return run


def entries(path: Path) -> list[dict[str, Any]]:
    read: list[dict[str, Any]] = json.loads(path.read_text(encoding="utf-8"))["entries"]
    return read


ROOM = ("pressure", "--bench", "bench.toml", "--channel", "bag", "--true-mbar")


def test_two_points_show_the_change_and_write_nothing(
    here: Path, chips: Chips, calibrate: Calibrate, capsys: pytest.CaptureFixture[str]
) -> None:
    chips.count = 3727  # 0.9099 of the supply: 1012.4 mbar by the sheet
    assert calibrate(*ROOM, 1000.0) == 0
    assert "The first point is noted" in capsys.readouterr().out
    chips.count = 614  # 62.4 mbar by the sheet
    assert calibrate(*ROOM, 50.0) == 0
    out = capsys.readouterr().out
    assert "-zero_fraction = 0.10 # by the sheet" in out
    assert "+zero_fraction = 0.1099" in out
    assert "Nothing was written. Run the same with --write" in out
    assert (here / "bench.toml").read_text(encoding="utf-8") == BENCH
    points = entries(here / "bench.calibration.json")
    assert [one["what"] for one in points] == ["point", "point"]
    assert {one["by"] for one in points} == {"Kim"}


def test_what_is_written_reads_true_and_keeps_the_old_file(
    here: Path, chips: Chips, calibrate: Calibrate, capsys: pytest.CaptureFixture[str]
) -> None:
    chips.count = 3727
    calibrate(*ROOM, 1000.0)
    chips.count = 614
    calibrate(*ROOM, 50.0, "--write")
    bag = load_bench(here / "bench.toml").channel[0]
    assert bag.calibrated_on is not None
    (kept,) = here.glob("bench.2*.toml")
    assert kept.read_text(encoding="utf-8") == BENCH
    changed = entries(here / "bench.calibration.json")[-1]
    assert (changed["what"], changed["by"]) == ("changed", "Kim")
    assert changed["left"]["calibrated_on"] == str(bag.calibrated_on)
    capsys.readouterr()
    # As left: the same counts now read what was true, and begin a new pair of points.
    assert calibrate(*ROOM, 50.0) == 0
    out = capsys.readouterr().out
    assert "bag reads 50.0" in out
    assert "The first point is noted" in out


def test_points_too_near_each_other_are_refused(chips: Chips, calibrate: Calibrate) -> None:
    chips.count = 3727
    calibrate(*ROOM, 1000.0)
    with pytest.raises(InputError, match="the two points are 0 mbar apart .* Take the points anew"):
        calibrate(*ROOM, 1000.0)


ICE = ("couple", "--bench", "bench.toml", "--channel", "part1", "--true-c")


def test_a_good_couple_is_dated_and_not_bent(
    here: Path, calibrate: Calibrate, capsys: pytest.CaptureFixture[str]
) -> None:
    # It shows -1.00 over 25.00 degC: 1.000 mV less 26 * 0.041276 mV are -0.073 mV, or -1.85 degC
    # at 39.45 uV/K near 0 degC.
    assert calibrate(*ICE, 0.0, "--write") == 0
    assert "part1 is -1.85 K off" in capsys.readouterr().out
    part1 = load_bench(here / "bench.toml").channel[1]
    assert part1.calibrated_on is not None
    assert (part1.kind, part1.couple) == load_kind(BENCH, here)


def load_kind(text: str, folder: Path) -> tuple[object, object]:
    place = folder / "as-found.toml"
    place.write_text(text, encoding="utf-8")
    found = load_bench(place).channel[1]
    return found.kind, found.couple


def test_a_couple_beyond_its_limit_is_not_dated(
    here: Path, calibrate: Calibrate, capsys: pytest.CaptureFixture[str]
) -> None:
    assert calibrate(*ICE, 10.0, "--write") == 1
    assert "(limit 2.5 K)" in capsys.readouterr().out
    assert (here / "bench.toml").read_text(encoding="utf-8") == BENCH
    assert len(entries(here / "bench.calibration.json")) == 1


@pytest.mark.parametrize(
    ("words", "message"),
    [
        ((*ROOM[:4], "bagg", "--true-mbar", 1000.0), "--channel bagg is none of bag, part1. Did"),
        ((*ROOM[:4], "part1", "--true-mbar", 1000.0), "of kind tc31855 measures no pressure"),
        ((*ICE[:4], "bag", "--true-c", 0.0), "of kind adc12 measures no temperature"),
        ((*ICE, 0.0, "--seconds", 0.5), "--seconds 0.5 must be at least 1"),
    ],
)
def test_a_wrong_request_is_named(
    calibrate: Calibrate, words: tuple[object, ...], message: str
) -> None:
    with pytest.raises(InputError, match=message):
        calibrate(*words)


def test_a_channel_that_gives_nothing_is_not_calibrated(chips: Chips, calibrate: Calibrate) -> None:
    chips.word = "00011901"
    with pytest.raises(InputError, match="part1 gave no readings. .* Run bagvigil check"):
        calibrate(*ICE, 0.0)


def test_a_gulp_of_air_tells_the_bags_volume(
    here: Path, calibrate: Calibrate, capsys: pytest.CaptureFixture[str]
) -> None:
    words = ("volume", "--job", "job.toml", "--room-mbar", 1000, "--before-mbar", 50)
    assert calibrate(*words, "--after-mbar", 74, "--gulp-ml", 60, "--write") == 0
    assert "The shut bag holds 2.50 l." in capsys.readouterr().out
    assert load_job(here / "job.toml").bag.free_volume_l == 2.5
    with pytest.raises(InputError, match="--after-mbar 49: the pressure must rise"):
        calibrate(*words, "--after-mbar", 49, "--gulp-ml", 60)


def test_a_weighed_dropper_is_put_into_the_job(
    here: Path, calibrate: Calibrate, capsys: pytest.CaptureFixture[str]
) -> None:
    words = ("dropper", "--job", "job.toml", "--name", "brown bottle", "--drops", 20)
    assert calibrate(*words, "--grams", 1.10, "--write") == 0
    assert "One drop weighs 55.0 mg." in capsys.readouterr().out
    dropper = load_job(here / "job.toml").dropper
    assert dropper is not None
    assert (dropper.name, dropper.drops_weighed, dropper.weighed_g) == ("brown bottle", 20, 1.10)
    with pytest.raises(InputError, match="--grams 0 must be above 0"):
        calibrate(*words, "--grams", 0.0)


def test_a_log_that_is_none_is_not_written_over(
    here: Path, chips: Chips, calibrate: Calibrate
) -> None:
    chips.count = 3727
    (here / "bench.calibration.json").write_text("scribble", encoding="utf-8")
    with pytest.raises(InputError, match="is no log of calibrations"):
        calibrate(*ROOM, 1000.0)
    assert (here / "bench.calibration.json").read_text(encoding="utf-8") == "scribble"


def test_a_bus_that_is_not_there_is_told(here: Path, say: Say) -> None:
    (here / "bench.toml").write_text(BENCH, encoding="utf-8")
    spoken = say("calibrate", *ICE, "0", "--seconds", 1)
    assert spoken.code == 2
    assert "spidev" in spoken.err
