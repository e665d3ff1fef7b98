"""The job so far, bounded."""

from __future__ import annotations

import pytest

from firmware_host.config.load import parse_job
from firmware_host.core.monitor import Monitor
from firmware_host.core.trend import MOST_POINTS, TrendRing
from firmware_host.model.channels import channel_named
from firmware_host.model.samples import Frame, Group, Reason, Unseen
from firmware_host.model.trend import Trend

JOB = '[job]\npart = "drone fairing"\n[resin]\nfamily = "polyester"\n'
NAMES = ("bag", "part1", "part2", "mould", "shop")


def test_two_blocks_of_five_seconds_make_one_point_of_ten() -> None:
    ring = TrendRing()
    ring.add(5.0, (1000.0, 295.0, 290.0))
    ring.add(10.0, (2000.0, 297.0, 290.0))
    assert ring.trend() == Trend(
        step_s=10.0, time_s=(10.0,), bag_pa=(1500.0,), laminate_k=(296.0,), shop_k=(290.0,)
    )


def test_what_was_never_known_in_a_step_is_none_and_what_was_known_once_is_kept() -> None:
    ring = TrendRing()
    ring.add(5.0, (None, 295.0, None))
    ring.add(10.0, (None, None, None))
    assert ring.trend() == Trend(
        step_s=10.0, time_s=(10.0,), bag_pa=(None,), laminate_k=(295.0,), shop_k=(None,)
    )


def test_a_step_that_nobody_watched_has_no_point() -> None:
    ring = TrendRing()
    ring.add(10.0, (1000.0, None, None))
    ring.add(40.0, (1000.0, None, None))
    assert ring.trend().time_s == (10.0, 40.0)


def test_a_full_ring_joins_neighbours_and_still_begins_at_the_beginning() -> None:
    ring = TrendRing()
    for number in range(1, MOST_POINTS + 2):
        ring.add(number * 10.0, (float(number), None, None))
    trend = ring.trend()
    assert trend.step_s == 20.0
    assert trend.time_s[:2] == (20.0, 40.0)
    assert trend.bag_pa[:2] == (1.5, 3.5)
    assert trend.time_s[-1] == 7220.0


@pytest.mark.parametrize("hours", [1, 24, 200])
def test_a_job_of_any_length_has_a_bounded_number_of_points_over_all_of_it(hours: int) -> None:
    ring = TrendRing()
    end_s = hours * 3600
    for time_s in range(10, end_s + 1, 10):
        ring.add(float(time_s), (float(time_s), None, None))
    trend = ring.trend()
    assert len(trend.time_s) <= MOST_POINTS
    assert trend.time_s[0] == trend.step_s
    assert end_s <= trend.time_s[-1] < end_s + trend.step_s
    known = [value for value in trend.bag_pa if value is not None]
    assert known == sorted(known)


def test_a_job_is_kept_as_it_was_measured_and_a_gap_stays_a_gap() -> None:
    group = Group("board", tuple(channel_named(name) for name in NAMES), 1.0)
    monitor = Monitor(parse_job(JOB, "job.toml"), (group,))

    def watch(from_s: int, to_s: int) -> None:
        for time_s in range(from_s, to_s + 1):
            values = (101000.0, 295.0, 297.0, 310.0, None)
            reasons = (None, None, None, None, Reason.OPEN)
            monitor.step(Frame(float(time_s), 0, values, reasons))

    watch(1, 20)
    monitor.step(Unseen(60.0, 20.0, "Bag Vigil was not running"))
    watch(61, 70)
    trend = monitor.trend()
    assert trend.time_s == (10.0, 20.0, 70.0)
    assert trend.bag_pa == (101000.0,) * 3
    assert trend.laminate_k == (296.0,) * 3
    assert trend.shop_k == (None,) * 3
