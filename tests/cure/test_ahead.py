"""The look ahead against the followers' own, finer steps, and what it may never say."""

from __future__ import annotations

import numpy as np
import pytest

from firmware_host.cure.ahead import Wanted, burnt, courses
from firmware_host.cure.foresee import Standing, drawn, fresh, run_ahead
from firmware_host.cure.population import population_of
from tests.cure.jobs import EPOXY, job_of

ROOM_K, WARM_K = 293.15, 303.15
FOUR_H = 4.0 * 3600.0
WANTED = Wanted(
    near_room_k=5.0, rest_conversion=0.58, rest_s=0.0, pull_conversion=0.62, pull_s=9000.0
)


@pytest.fixture(scope="module")
def some() -> Standing:
    bank = population_of(job_of())
    weight = np.where(bank.usual, 1.0, 0.0)
    return drawn(fresh(bank, ROOM_K), weight / np.sum(weight))


def test_coarse_steps_agree_with_the_followers_own_to_minutes(some: Standing) -> None:
    (ours,) = courses(some, (ROOM_K,), FOUR_H)
    finer = run_ahead(some, ROOM_K, FOUR_H)
    assert ours.after_s[-1] == pytest.approx(finer.after_s[-1], abs=360.0)
    gel = some.bank.gel_conversion
    both = np.all([np.any(way.conversion >= gel, axis=0) for way in (ours, finer)], axis=0)
    gels = [way.after_s[np.argmax(way.conversion >= gel, axis=0)] for way in (ours, finer)]
    # Never off by more than the step in which it began.
    assert float(np.max(np.abs(gels[0] - gels[1])[both])) <= 360.0
    early = both & (gels[1] < 5400.0)
    assert float(np.max(np.abs(gels[0] - gels[1])[early])) <= 180.0
    peaks = [way.after_s[np.argmax(way.laminate_k, axis=0)] for way in (ours, finer)]
    assert float(np.quantile(np.abs(peaks[0] - peaks[1]), 0.9)) <= 360.0
    tops_k = [np.max(way.laminate_k, axis=0) for way in (ours, finer)]
    assert float(np.quantile(np.abs(tops_k[0] - tops_k[1]), 0.9)) <= 5.0
    ends = np.abs(ours.conversion[-1] - finer.conversion[-1])
    assert float(np.quantile(ends, 0.9)) < 0.03


def test_rooms_swept_together_are_the_rooms_alone(some: Standing) -> None:
    together = courses(some, (ROOM_K, WARM_K), FOUR_H)
    for room_k, way in zip((ROOM_K, WARM_K), together, strict=True):
        (alone,) = courses(some, (room_k,), FOUR_H)
        assert np.array_equal(way.conversion, alone.conversion)
        assert np.array_equal(way.laminate_k, alone.laminate_k)


def test_a_warmer_room_brings_the_gel_sooner_and_the_peak_hotter(some: Standing) -> None:
    cool, warm = courses(some, (ROOM_K, WARM_K))
    for early, late in zip(warm.gel(), cool.gel(), strict=True):
        assert early is not None
        assert late is not None
        assert early < late
    assert warm.peak_k()[2] > cool.peak_k()[2]


def test_every_range_is_in_order_and_nothing_comes_before_it_may(some: Standing) -> None:
    (way,) = courses(some, (ROOM_K,))
    for times in (way.gel(), way.onset(), way.peak(), way.rest(WANTED), way.target(0.5)):
        known = [time_s for time_s in times if time_s is not None]
        assert known == sorted(known)
    pull_s = way.pull(WANTED)[0]
    assert pull_s is None or pull_s >= WANTED.pull_s - 75.0  # within half a step


def test_a_conversion_that_the_room_cannot_bring_is_never_foreseen(some: Standing) -> None:
    (way,) = courses(some, (ROOM_K,))
    assert way.target(0.97) == (None, None, None)


def test_conversion_neither_falls_nor_passes_one(some: Standing) -> None:
    (way,) = courses(some, (343.15,))
    assert np.all(np.diff(way.conversion, axis=0) >= 0.0)
    assert np.all(way.conversion <= 1.0)


def test_the_induction_is_a_share_and_an_epoxy_has_none() -> None:
    bank = population_of(job_of())
    even = np.full(len(bank.bead), 1.0 / len(bank.bead))
    assert burnt(fresh(bank, ROOM_K), even) == (0.0, 0.0, 0.0)
    epoxy = population_of(job_of(EPOXY))
    assert burnt(fresh(epoxy, ROOM_K), even) is None
