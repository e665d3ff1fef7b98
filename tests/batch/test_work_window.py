"""The window and its gates, proven and unproven."""

from __future__ import annotations

import math

import pytest
from scipy.stats import norm

from firmware_host.batch.work_window import WindowSource, window_of
from firmware_host.history.gaussian import Expected

LN_40 = Expected(mean=math.log(40.0), sd=0.2)


@pytest.mark.parametrize("source", [WindowSource.CUP, WindowSource.JOBS])
def test_a_proven_window_counts_its_gates_from_the_ninety_percent_earliest(
    source: WindowSource,
) -> None:
    """Quantiles by scipy."""
    window = window_of(LN_40, source, 5)
    earliest = 40.0 * math.exp(0.2 * norm.ppf(0.10))
    assert window.low_min == pytest.approx(40.0 * math.exp(0.2 * norm.ppf(0.025)))
    assert window.high_min == pytest.approx(40.0 * math.exp(0.2 * norm.ppf(0.975)))
    assert window.sealed_by_min == pytest.approx(0.65 * earliest)
    assert window.smoothed_by_min == pytest.approx(0.80 * earliest)


@pytest.mark.parametrize("source", [WindowSource.PRESET, WindowSource.SHEET])
def test_an_unproven_window_is_judged_at_its_median(source: WindowSource) -> None:
    window = window_of(LN_40, source, 0)
    assert window.sealed_by_min == pytest.approx(0.65 * 40.0)
    assert not window.proven


@pytest.mark.parametrize(
    ("source", "jobs", "words"),
    [
        (WindowSource.JOBS, 1, "from 1 job here: wide"),
        (WindowSource.JOBS, 2, "from 2 jobs here: wide"),
        (WindowSource.JOBS, 3, "from 3 jobs here"),
        (WindowSource.CUP, 0, "from your cup, no job here yet"),
        (WindowSource.CUP, 4, "from your cup, 4 jobs here"),
        (WindowSource.PRESET, 0, "from the resin as described, nothing of this shop yet: wide"),
    ],
)
def test_a_window_says_what_it_rests_on(source: WindowSource, jobs: int, words: str) -> None:
    assert window_of(LN_40, source, jobs).how_sure == words
