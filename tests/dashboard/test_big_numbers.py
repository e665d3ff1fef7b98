"""Numerals of five rows, and which two numbers they show in which phase."""

from __future__ import annotations

from dataclasses import replace

import pytest

from dashboard.big_two import the_two
from dashboard.numerals import ROWS, big
from dashboard.shown import BigNumber, Tone, text_of
from firmware_host.model.events import Phase
from firmware_host.model.snapshot import ChannelView, Snapshot
from tests.dashboard.parts import FAULT, KICKED_CURE, LOST, WORK, snapshot


def said(number: BigNumber) -> tuple[str, str, str]:
    return number.caption, number.digits, text_of(number.note)


def two(shown: Snapshot) -> tuple[tuple[str, str, str], tuple[str, str, str]]:
    left, right = the_two(shown, shown.view.time_s)
    return said(left), said(right)


def test_every_numeral_has_five_rows_of_one_width() -> None:
    for character in "0123456789-:. ":
        rows = big(character)
        assert len(rows) == ROWS
        assert len({len(row) for row in rows}) == 1


def test_digits_are_told_apart() -> None:
    assert len({big(digit) for digit in "0123456789"}) == 10


def test_a_letter_has_no_big_shape() -> None:
    with pytest.raises(ValueError, match="'x' has no big shape"):
        big("x")


def test_five_numerals_fit_into_half_of_eighty_columns() -> None:
    assert max(len(row) for row in big("88:88")) <= 38


def test_planned_shows_the_work_time_and_the_shop() -> None:
    assert two(snapshot(Phase.PLANNED, mixed_s=None)) == (
        ("work time, min:s", "25:00", "from mixing to bag closed"),
        ("shop, degC", "20.0", "before the pour"),
    )


def test_working_shows_the_time_to_the_last_smoothing_and_to_bag_sealed() -> None:
    # Mixed at 300 s, early gel at 3300 s: sealed by 0.65 and smoothed by 0.8 of 3000 s after it.
    shown = snapshot(Phase.WORKING, time_s=800.0)
    assert two(shown) == (
        ("to last smoothing, min:s", "31:40", "by 08:45, work ends 08:30"),
        ("to bag sealed, min:s", "24:10", "by 08:37; kick 08:50 to 09:20"),
    )


def test_an_unproven_window_says_so_within_its_place() -> None:
    left, right = the_two(snapshot(Phase.WORKING, work=replace(WORK, proven=False)), 2701.0)
    assert text_of(left.note) == "~ by 08:45 (unproven), work ends 08:30"
    assert max(len(text_of(one.note)) for one in (left, right)) <= 38


def test_a_kick_a_day_off_is_not_taken_for_todays() -> None:
    shown = snapshot(Phase.WORKING, work=replace(WORK, kick_high_s=1800.0 + 86400.0))
    assert two(shown)[1][2] == "by 08:37; kick 08:50 to later"


@pytest.mark.parametrize(
    ("over_s", "digits", "unit"),
    [(1.0, "-0:01", "min:s"), (599.0, "-9:59", "min:s"), (600.0, "-10", "min")],
)
def test_time_that_is_over_has_a_minus_and_fits_its_place(
    over_s: float, digits: str, unit: str
) -> None:
    left, _ = the_two(snapshot(Phase.WORKING), 2700.0 + over_s)
    assert (left.digits, left.caption) == (digits, f"~ smoothing late by, {unit}")
    assert max(map(len, big(left.digits))) <= 38


def test_without_a_gate_the_honest_work_time_is_counted_down() -> None:
    dark = snapshot(Phase.WORKING, work=replace(WORK, sealed_by_s=None, smoothed_by_s=None))
    left, right = the_two(dark, 1801.0)
    assert (left.digits, left.caption) == ("-0:01", "~ work time over by, min:s")
    assert left.tone is Tone.NOTICE
    at_the_end, _ = the_two(dark, 1800.0)
    assert at_the_end.caption == "work time left, min:s"
    assert said(right) == ("to bag sealed, min:s", "--", "no gel forecast yet")


def test_drawdown_shows_the_bag_and_the_time_to_the_last_smoothing() -> None:
    shown = snapshot(Phase.DRAWDOWN, phase_since_s=1675.0)
    assert two(shown) == (
        ("bag, mbar absolute", "49", "below 150 as wanted, 28.5 inHg vacuum"),
        ("to last smoothing, min:s", "15:00", "by 08:45"),
    )


def test_waiting_shows_bag_and_laminate() -> None:
    assert two(snapshot()) == (
        ("bag, mbar absolute", "49", "below 150 as wanted, 28.5 inHg vacuum"),
        ("laminate, degC", "25.0", "below 90 as wanted, 5.0 K over shop"),
    )


@pytest.mark.parametrize("phase", [Phase.KICKED, Phase.COOLING])
def test_after_the_kick_the_laminate_and_the_time_since_the_gel(phase: Phase) -> None:
    left, right = two(snapshot(phase, time_s=7260.0, cure=KICKED_CURE))
    assert left[0] == "laminate, degC"
    assert right == ("since the gel, h:min", "1:01", "gel between 08:50 and 09:20")


@pytest.mark.parametrize("phase", list(Phase))
def test_every_phase_shows_two_numbers_with_and_without_channels(phase: Phase) -> None:
    for shown in (snapshot(phase), snapshot(phase, channels=(), cure=None, mixed_s=None)):
        for number in the_two(shown, 1e9):
            assert big(number.digits)


def test_no_bag_channel_is_not_measured_and_no_zero() -> None:
    left, _ = two(snapshot(channels=()))
    assert left == ("bag, mbar absolute", "--", "not measured")


def test_a_broken_couple_is_told_by_its_fault() -> None:
    broken = ChannelView(name="part1", value=None, age_s=9.0, fault="dead_bus")
    _, right = the_two(snapshot(channels=(broken,)), 1800.0)
    assert said(right) == ("laminate, degC", "--", "!! part1 dead bus")
    assert right.tone is Tone.ALARM


def test_a_bag_on_its_way_down_is_no_alarm_and_a_lost_one_is() -> None:
    high = (ChannelView(name="bag", value=20000.0, age_s=0.0, fault=None),)
    on_its_way, _ = the_two(snapshot(channels=high, alarms=(FAULT,)), 1800.0)
    assert text_of(on_its_way.note) == "not below 150 yet, 24.0 inHg vacuum"
    assert on_its_way.tone is Tone.PLAIN
    lost, _ = the_two(snapshot(channels=high, alarms=(LOST,)), 1800.0)
    assert text_of(lost.note) == "!! above 150, the limit, 24.0 inHg vacuum"
    assert lost.tone is Tone.ALARM


@pytest.mark.parametrize(
    ("hottest_k", "note", "tone"),
    [
        (363.16, "!! above 90, the limit", Tone.ALARM),
        (363.15, "~ near 90, the limit", Tone.NOTICE),
        (358.16, "~ near 90, the limit", Tone.NOTICE),
        (358.15, "below 90 as wanted", Tone.PLAIN),
    ],
)
def test_the_hottest_couple_is_held_against_the_limit(
    hottest_k: float, note: str, tone: Tone
) -> None:
    mould = ChannelView(name="mould", value=hottest_k, age_s=0.0, fault=None)
    part = ChannelView(name="part1", value=300.0, age_s=0.0, fault=None)
    _, right = the_two(snapshot(channels=(part, mould)), 1800.0)
    assert (text_of(right.note), right.tone) == (note, tone)


def test_a_number_too_long_for_its_place_is_not_shown_wrong() -> None:
    bag = ChannelView(name="bag", value=1.0e9, age_s=0.0, fault=None)
    left, _ = the_two(snapshot(channels=(bag,)), 1800.0)
    assert left.digits == "--"


def test_a_strange_zero_of_the_job_gives_no_time_of_day() -> None:
    shown = replace(snapshot(Phase.WORKING), zero_wall="yesterday")
    left, _ = two(shown)
    assert left[2] == "by --:--, work ends --:--"
