"""Where a drop test begins and ends, and what a span keeps of it."""

from __future__ import annotations

import numpy as np
import pytest

from firmware_host.model.events import Verdict
from firmware_host.vacuum.isolation import MOST_BLOCKS, VALVE_BLIP_S, IsolationWindow, Span
from tests.vacuum.drop_tests import Array, Gauge, Watched, exponential, isolated, still, times

pytestmark = pytest.mark.campaign

PUMPED_PA = 6000.0


def window_of(time_s: Array, pressure_pa: Array, start_s: float = 0.0) -> IsolationWindow:
    window = IsolationWindow(start_s)
    for t_s, p_pa in zip(map(float, time_s), map(float, pressure_pa), strict=True):
        window.add(t_s, p_pa, None)
    return window


def seen(window: IsolationWindow) -> Span:
    span = window.span()
    assert span is not None
    return span


def leaking_then_open(open_s: float, until_s: float, *, leak: float = 20.0, seed: int = 1) -> Array:
    time_s = times(until_s)
    true = isolated(time_s, leak, still)
    pumped = PUMPED_PA + (true - PUMPED_PA) * np.exp(-np.maximum(time_s - open_s, 0.0) / 6.0)
    read = np.where(time_s >= open_s, pumped, true)
    return np.asarray(Gauge().read(read, 2.0, np.random.default_rng(seed)))


def test_the_first_seconds_are_the_valves_and_left_out() -> None:
    window = IsolationWindow(100.0)
    for t_s in (100.0, 100.0 + VALVE_BLIP_S - 0.1):
        window.add(t_s, 9000.0, None)
    assert window.last_s == 100.0
    window.add(100.0 + VALVE_BLIP_S, 6000.0, None)
    window.add(107.0, 6000.0, None)
    assert window.last_s == 100.0 + VALVE_BLIP_S


def test_fewer_than_three_blocks_are_no_span() -> None:
    window = window_of(np.array([6.0, 8.0, 10.0]), np.full(3, 6000.0))
    assert window.span() is None


def test_a_span_holds_the_mean_of_each_block_and_its_count() -> None:
    time_s = np.arange(6.0, 31.0, 1.0)
    span = seen(window_of(time_s, 6000.0 + 10.0 * time_s))
    assert span.samples == (2,) * 12
    assert span.time_s == pytest.approx(np.arange(6.5, 30.0, 2.0))
    assert span.pressure_pa == pytest.approx(6000.0 + 10.0 * np.arange(6.5, 30.0, 2.0))
    assert span.temp_k == (None,) * 12


def test_pressure_falling_back_ends_the_span_whatever_the_mark_says() -> None:
    time_s = times(100.0)
    test = Watched().take(time_s, leaking_then_open(60.0, 100.0)).said[-1]
    assert test.final
    assert 54.0 <= test.end_s <= 60.0


def test_a_late_valve_open_mark_does_not_lengthen_the_test() -> None:
    time_s = times(326.0)
    watched = Watched().take(time_s, leaking_then_open(298.0, 326.0))
    test = watched.open(326.0)
    assert 292.0 <= test.end_s <= 298.0
    assert test.verdict is Verdict.LEAKING
    assert watched.bag.open(330.0, 330.0) == []


def test_a_fall_too_small_to_see_costs_the_last_half_minute_only() -> None:
    """A tight bag shows no fall: the late mark may hide thirty seconds of an open valve."""
    time_s = times(300.0)
    flat = Gauge().read(np.full_like(time_s, PUMPED_PA), 2.0, np.random.default_rng(2))
    test = Watched().take(time_s, flat).open(300.0)
    assert (test.end_s, test.verdict) == (300.0, Verdict.TIGHT)


def test_a_missing_valve_open_ends_where_the_pressure_fell() -> None:
    time_s = times(400.0)
    watched = Watched().take(time_s, leaking_then_open(300.0, 400.0))
    assert watched.finish(400.0) == watched.said[-1]
    assert 294.0 <= watched.said[-1].end_s <= 300.0
    assert watched.said[-1].verdict is Verdict.LEAKING


def test_a_missing_valve_open_without_a_fall_is_undecided() -> None:
    time_s = times(300.0)
    test = Watched().take(time_s, leaking_then_open(999.0, 300.0)).finish(300.0)
    assert test.final
    assert (test.verdict, test.decided_s) == (Verdict.UNDECIDED, None)


def test_a_valve_opened_after_forty_seconds_gives_a_short_test_and_no_wrong_word() -> None:
    time_s = times(70.0)
    for seed in range(5):
        for leak, wrong in ((0.0, Verdict.LEAKING), (25.0, Verdict.TIGHT)):
            read = leaking_then_open(40.0, 70.0, leak=leak, seed=seed)
            test = Watched().take(time_s, read).open(70.0)
            assert test.final
            assert test.verdict is not wrong
            assert test.end_s <= 40.0 if leak else test.end_s <= 70.0


@pytest.mark.parametrize("size_pa", [-5000.0, -400.0, 400.0, 5000.0, 90000.0])
@pytest.mark.parametrize("at", [30, 148])
def test_a_single_spike_changes_neither_the_end_nor_the_estimate(size_pa: float, at: int) -> None:
    time_s = times(300.0)
    clean = leaking_then_open(999.0, 300.0, leak=2.0)
    struck = clean.copy()
    struck[at] = max(struck[at] + size_pa, 0.0)
    without = np.arange(len(time_s)) != at
    usual = Watched().take(time_s[without], clean[without]).open(300.0)
    assert Watched().take(time_s, struck).open(300.0) == usual


def test_the_newest_reading_alone_never_speaks() -> None:
    """A spike is only known by its successor, so the newest reading waits for one."""
    time_s = times(120.0)
    read = leaking_then_open(999.0, 120.0, leak=0.5)
    watched = Watched().take(time_s, read)
    before = watched.bag.test
    assert before is not None
    words = before.said(0.0)
    watched.bag.take(120.0, 95000.0, None)
    watched.bag.look(125.0)
    after = before.said(0.0)
    assert after.verdict is words.verdict is Verdict.TIGHT
    assert after.rise_pa_per_s == pytest.approx(words.rise_pa_per_s or 0.0, abs=0.6)


def test_a_gap_in_the_log_does_not_end_a_test() -> None:
    time_s = times(400.0)
    kept = (time_s < 100.0) | (time_s >= 220.0)
    read = leaking_then_open(999.0, 400.0)
    test = Watched().take(time_s[kept], read[kept]).open(400.0)
    assert (test.end_s, test.verdict) == (400.0, Verdict.LEAKING)
    assert test.rise_pa_per_s == pytest.approx(20.0, abs=1.5)


@pytest.mark.parametrize("gap_s", [16.0, 26.0, 60.0, 600.0])
def test_a_valve_opened_inside_a_gap_ends_the_test_before_the_gap(gap_s: float) -> None:
    """Else the flat line of a pumped bag would pass for a tight one."""
    time_s = times(60.0 + gap_s + 200.0)
    kept = (time_s < 60.0) | (time_s >= 60.0 + gap_s)
    read = leaking_then_open(62.0, 260.0 + gap_s)
    test = Watched().take(time_s[kept], read[kept]).open(260.0 + gap_s)
    assert test.final
    assert test.end_s < 60.0
    assert test.verdict is not Verdict.TIGHT


def test_a_second_valve_shut_ends_the_first_test_and_begins_another() -> None:
    time_s = times(200.0)
    watched = Watched().take(time_s, leaking_then_open(999.0, 200.0, leak=0.2))
    first = watched.bag.shut(200.0, 200.0)
    assert [(test.number, test.final, test.end_s) for test in first] == [(1, True, 200.0)]
    assert watched.bag.test is not None
    assert watched.bag.test.end_s is None
    second = watched.bag.open(230.0, 230.0)
    assert [(test.number, test.start_s) for test in second] == [(2, 200.0)]


def test_a_valve_shut_said_two_minutes_later_still_sees_its_readings() -> None:
    time_s = times(240.0)
    read = leaking_then_open(999.0, 240.0)
    late = Watched()
    late.bag.open(0.0, 0.0)
    late.take(time_s[:60], read[:60])
    late.bag.shut(0.0, 120.0)
    late.take(time_s[60:], read[60:])
    prompt = Watched().take(time_s, read).open(240.0)
    test = late.open(240.0)
    assert (test.start_s, test.end_s) == (0.0, 240.0)
    assert test.rise_pa_per_s == prompt.rise_pa_per_s


def test_noise_is_learnt_from_the_readings_and_a_steep_rise_is_none() -> None:
    time_s = times(300.0)
    for leak in (0.0, 60.0):
        read = Gauge().read(isolated(time_s, leak, still), 2.0, np.random.default_rng(4))
        assert window_of(time_s, read).noise.noise_pa == pytest.approx(20.0, rel=0.25)


def test_noise_of_a_coarse_gauge_is_never_below_what_its_step_hides() -> None:
    time_s = times(300.0)
    read = Gauge(sigma_pa=0.0, step_pa=26.9).read(
        isolated(time_s, 0.3, still), 2.0, np.random.default_rng(4)
    )
    # LSB / sqrt(12): the error of rounding, uniform over one step.
    assert window_of(time_s, read).noise.noise_pa >= 26.9 / 12.0**0.5


@pytest.mark.parametrize(("leak", "verdict"), [(0.3, Verdict.TIGHT), (30.0, Verdict.LEAKING)])
def test_a_coarse_gauge_still_tells_a_tight_bag_from_a_leaking_one(
    leak: float, verdict: Verdict
) -> None:
    time_s = times(300.0)
    for seed, sigma in enumerate((0.0, 5.0, 30.0)):
        true = isolated(time_s, leak, exponential((500.0, 40.0)))
        gauge = Gauge(sigma_pa=sigma, step_pa=26.9)
        read = gauge.read(true, 2.0, np.random.default_rng(seed))
        assert Watched().take(time_s, read).open(300.0).verdict is verdict


def test_a_test_left_overnight_keeps_at_most_64_blocks() -> None:
    window = IsolationWindow(0.0)
    most, steps = 0, 0
    for i in range(86400 // 4):
        window.add(4.0 * i, 6000.0 + 0.05 * i, None)
        if i % 60 == 0 and (span := window.span()) is not None:
            most, steps = max(most, len(span.time_s)), steps + 1
    span = seen(window)
    assert most <= MOST_BLOCKS
    assert steps > 300
    assert sum(span.samples) == pytest.approx(86400 // 4, abs=4)
    assert span.end_s == pytest.approx(86400.0, abs=10.0)


def test_a_test_left_overnight_is_looked_at_ever_more_rarely() -> None:
    """The cost of a day: a look is worth some milliseconds, a day has 17 280 blocks."""
    watched = Watched()
    test = watched.bag.test
    assert test is not None
    looks, now_s = 0, 0.0
    while now_s < 86400.0:
        now_s = max(now_s + 5.0, test.next_look_s)
        looks += 1
        test.look(now_s)
    assert looks < 450


@pytest.mark.parametrize("rate_hz", [10.0, 2.0, 0.5])
@pytest.mark.parametrize("noise_pa", [5.0, 15.0])
def test_a_coarse_gauge_with_supply_ripple_does_not_end_a_test_by_itself(
    rate_hz: float, noise_pa: float
) -> None:
    for seed in range(8):
        rng = np.random.default_rng(seed)
        times = np.arange(int(300.0 * rate_hz)) / rate_hz
        true = 1500.0 + 0.5 * times + noise_pa * rng.normal(size=len(times))
        shown = np.round(true / 27.0) * 27.0 * (1.0 + 0.0008 * rng.normal(size=len(times)))
        window = IsolationWindow(0.0)
        for time_s, pressure_pa in zip(times, shown, strict=True):
            window.add(float(time_s), float(pressure_pa), None)
        assert window.end_s is None
