from __future__ import annotations

from collections.abc import Sequence

import pytest

from firmware_host.channels.bench_check import (
    Finding,
    HeardPort,
    Level,
    judge_couples,
    judge_port,
    judge_room,
    measure,
)
from firmware_host.model.channels import channel_named
from firmware_host.model.samples import Frame, Reason


def heard(
    names: Sequence[str], rows: Sequence[Sequence[float | Reason]], **more: object
) -> HeardPort:
    """A port on which these rows came, half a second apart."""
    frames = tuple(
        Frame(
            0.5 * number,
            0,
            tuple(None if isinstance(one, Reason) else one for one in row),
            tuple(one if isinstance(one, Reason) else None for one in row),
        )
        for number, row in enumerate(rows)
    )
    return HeardPort(
        name="board",
        channels=tuple(channel_named(name) for name in names),
        period_s=0.5,
        span_s=0.5 * len(rows),
        frames=frames,
        up=True,
        **more,  # type: ignore[arg-type]  # keys of the record
    )


def lines(findings: Sequence[Finding]) -> list[str]:
    return [f"{one.level} {one.what}: {one.text}" for one in findings]


def test_a_quiet_port_is_ok_with_its_numbers() -> None:
    port = heard(["bag", "part1"], [(101300.0, 293.15)] * 4)
    assert lines(judge_port(port)) == [
        "ok port board: 4 samples in 2 s, 0 damaged, 0 lost.",
        "ok bag: 1013.0 hPa, noise 0 Pa.",
        "ok part1: 20.0 C, noise 0.00 K.",
    ]


def test_a_silent_port_says_what_its_reader_said() -> None:
    absent = HeardPort(
        name="board", channels=(), period_s=0.5, span_s=3.0, link_text="/dev/x is not there."
    )
    assert lines(judge_port(absent)) == ["fail port board: /dev/x is not there."]
    mute = HeardPort(name="board", channels=(), period_s=0.5, span_s=3.0)
    assert lines(judge_port(mute)) == [
        "fail port board: nothing came within 3 s. Check plug and device."
    ]


@pytest.mark.parametrize(
    ("more", "line"),
    [
        ({"damaged": 1}, "doubt port board: 4 samples in 2 s, 1 damaged, 0 lost. Check cable"),
        ({"lost": 2}, "doubt port board: 4 samples in 2 s, 0 damaged, 2 lost. Check cable"),
    ],
)
def test_damaged_and_lost_lines_are_a_doubt(more: dict[str, int], line: str) -> None:
    port = heard(["part1"], [(293.15,)] * 4, **more)
    assert lines(judge_port(port))[0].startswith(line)


def test_a_port_that_went_away_meanwhile_is_a_fail() -> None:
    port = HeardPort(
        name="board",
        channels=(),
        period_s=0.5,
        span_s=2.0,
        frames=(Frame(0.0, 0, (), ()),),
        link_text="it was unplugged.",
    )
    assert lines(judge_port(port)) == [
        "fail port board: 1 samples in 2 s, 0 damaged, 0 lost. it was unplugged."
    ]


@pytest.mark.parametrize(("count", "level"), [(6, Level.OK), (5, Level.DOUBT)])
def test_too_few_samples_are_a_doubt(count: int, level: Level) -> None:
    port = heard(["part1"], [(293.15,)] * count)
    slow = HeardPort(
        name="board",
        channels=port.channels,
        period_s=0.5,
        span_s=5.0,
        frames=port.frames,
        up=True,
    )
    assert judge_port(slow)[0].level is level  # ten were due, seven tenths less one are enough


@pytest.mark.parametrize("reason", list(Reason))
def test_a_channel_without_a_value_says_why_and_what_to_do(reason: Reason) -> None:
    (_, channel) = judge_port(heard(["part1"], [(reason,)] * 4))
    assert channel.level is Level.FAIL
    assert channel.text.startswith(f"no value: {reason}. ")
    assert channel.text.endswith(".")


def test_the_first_frame_may_find_a_chip_that_is_only_being_set_up() -> None:
    rows: list[tuple[float | Reason]] = [(Reason.NOT_READ,), (293.15,), (293.15,), (293.15,)]
    assert judge_port(heard(["part1"], rows))[1].level is Level.OK


def test_readings_that_fail_now_and_then_are_a_doubt() -> None:
    rows: list[tuple[float | Reason]] = [(293.15,), (Reason.OPEN,), (293.15,), (293.15,)]
    assert lines(judge_port(heard(["part1"], rows)))[1] == (
        "doubt part1: 1 of 4 readings failed: open. A lead is broken or off: check its connector."
    )


def test_noise_is_told_from_drift_and_the_step_from_both() -> None:
    drift = measure(heard(["part1"], [(290.0 + 0.25 * n,) for n in range(8)]))[0]
    assert (drift.noise, drift.step) == (0.0, 0.25)
    # Alternating by 2: second differences of 4, over the root of 6.
    noisy = measure(heard(["part1"], [(290.0 + 2.0 * (n % 2),) for n in range(8)]))[0]
    assert noisy.noise == pytest.approx(4.0 / 6.0**0.5)
    still = measure(heard(["part1"], [(290.0,)] * 3))[0]
    assert (still.noise, still.step) == (0.0, None)
    assert measure(heard(["part1"], [(290.0,)] * 2)) == []


@pytest.mark.parametrize(
    ("off_pa", "level"),
    [
        (0.0, Level.OK),
        (1000.0, Level.OK),
        (-1010.0, Level.DOUBT),
        (3000.0, Level.DOUBT),
        (3010.0, Level.FAIL),
    ],
)
def test_a_gauge_open_to_the_room_is_compared_with_the_barometer(
    off_pa: float, level: Level
) -> None:
    port = heard(["bag", "barometer"], [(100000.0 + off_pa, 100000.0)] * 3)
    (finding,) = judge_room(measure(port))
    assert finding.level is level
    assert f"the barometer 1000.0 hPa: {off_pa / 100.0:+.1f} hPa apart" in finding.text


def test_a_gauge_under_vacuum_is_not_compared() -> None:
    (finding,) = judge_room(measure(heard(["bag", "barometer"], [(9000.0, 100000.0)] * 3)))
    assert (finding.level, finding.text) == (
        Level.DOUBT,
        "90.0 hPa: it stands under vacuum. Open it to the room and check again.",
    )


@pytest.mark.parametrize(("pressure_pa", "level"), [(98000.0, Level.OK), (107000.0, Level.FAIL)])
def test_without_a_barometer_a_gauge_is_only_plausible(pressure_pa: float, level: Level) -> None:
    (finding,) = judge_room(measure(heard(["bag"], [(pressure_pa,)] * 3)))
    assert finding.level is level


@pytest.mark.parametrize(("off_k", "level"), [(2.5, Level.OK), (2.6, Level.DOUBT)])
def test_couples_at_rest_are_compared_with_their_middle(off_k: float, level: Level) -> None:
    port = heard(["part1", "part2", "shop"], [(293.0, 293.0 + off_k, 293.0)] * 3)
    (finding,) = judge_couples(measure(port))
    assert finding.level is level
    if level is Level.DOUBT:
        assert finding.what == "part2"


def test_one_thermometer_alone_is_not_compared() -> None:
    assert judge_couples(measure(heard(["part1"], [(293.0,)] * 3))) == []
