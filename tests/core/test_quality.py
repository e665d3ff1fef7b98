"""What a reading is worth, as it arrives: good, doubtful, bad or missing, and why."""

from __future__ import annotations

import random

import pytest

from firmware_host.core.channel_watch import ChannelWatch
from firmware_host.model.channels import channel_named
from firmware_host.model.quality import Grade, Quality
from firmware_host.model.samples import Reason
from tests.core.story import Told

PERIOD_S = 1.0
NOISE_K = 0.12


def spoken(readings: int = 200) -> tuple[ChannelWatch, random.Random]:
    rng = random.Random(4)
    one = ChannelWatch(channel_named("part1"), 0.0)
    for second in range(readings):
        one.take(float(second), 293.15 + rng.gauss(0.0, NOISE_K), None)
    return one, rng


def test_an_ordinary_reading_is_good() -> None:
    one, _ = spoken()
    assert one.grade(199.5, PERIOD_S) == Grade(Quality.GOOD, None)


def test_a_blank_cell_is_missing_not_bad() -> None:
    one, _ = spoken()
    one.take(200.0, None, Reason.NOT_READ)
    assert one.grade(200.0, PERIOD_S) == Grade(Quality.MISSING, "silent")


def test_a_channel_that_has_not_spoken_yet_is_missing() -> None:
    assert ChannelWatch(channel_named("shop"), 0.0).grade(0.5, PERIOD_S).quality is Quality.MISSING


def test_an_old_reading_is_missing() -> None:
    one, _ = spoken()
    assert one.grade(199.0 + 3.0, PERIOD_S).quality is Quality.GOOD
    assert one.grade(199.0 + 3.1, PERIOD_S) == Grade(Quality.MISSING, "silent")


@pytest.mark.parametrize(("reason", "why"), [(Reason.OPEN, "open"), (Reason.SHORT, "short")])
def test_the_very_first_fault_word_is_bad(reason: Reason, why: str) -> None:
    one, _ = spoken()
    one.take(200.0, None, reason)
    assert one.grade(200.0, PERIOD_S) == Grade(Quality.BAD, why)
    assert one.fault is None, "one word alone is no fault yet"


def test_a_jump_is_doubtful_until_the_next_reading_confirms_it() -> None:
    one, _ = spoken()
    one.take(200.0, 333.15, None)
    assert one.grade(200.0, PERIOD_S) == Grade(Quality.DOUBTFUL, "unconfirmed jump")
    one.take(201.0, 333.25, None)
    assert one.grade(201.0, PERIOD_S).quality is Quality.GOOD


def test_noise_ten_times_as_large_is_doubtful_and_no_fault() -> None:
    one, rng = spoken()
    for second in range(200, 260):
        one.take(float(second), 293.15 + rng.gauss(0.0, 10.0 * NOISE_K), None)
        assert one.look(second + 0.5, PERIOD_S) is None
    # A wild one may wait for its fellow just then; doubtful either way.
    assert one.grade(259.5, PERIOD_S).quality is Quality.DOUBTFUL


def test_what_a_channel_at_fault_shows_is_bad() -> None:
    one, _ = spoken()
    one.accuse("fallen_off", 200.0)
    one.take(200.0, 293.15, None)
    assert one.grade(200.0, PERIOD_S) == Grade(Quality.BAD, "fallen_off")
    assert one.believed(200.0, PERIOD_S) is None


def test_the_laminate_is_joined_from_its_believed_couples_and_says_how_sure_it_is() -> None:
    told = Told(others=("part2",))
    told.wait(120.0)
    told.part_k, told.others["part2"] = 294.15, 296.15
    told.wait(30.0)
    both = told.monitor.view().laminate
    assert both is not None
    assert both.mean_k == pytest.approx(295.15)
    assert (both.hottest_k, both.hottest) == (296.15, "part2")
    assert both.low_k < 294.5 < 295.8 < both.high_k
    del told.others["part2"]
    told.wait(30.0)
    one = told.monitor.view().laminate
    assert one is not None
    assert (one.mean_k, one.hottest) == (294.15, "part1")
    told.part_k = None
    told.wait(30.0)
    assert told.monitor.view().laminate is None
