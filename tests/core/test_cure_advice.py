"""What a late part is told: what differs, how warm it may be made, and never a second dose."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from firmware_host.core.cure_advice import (
    Felt,
    differences,
    warmer_rooms_k,
    warmest_wise,
    warming_words,
    what_to_do,
)
from firmware_host.model.events import CaseAhead, CureForeseen
from tests.cure.jobs import EPOXY, job_of

NEVER = (None, None, None)
ON = date(2026, 12, 12)
NOW = CaseAhead(
    warmed_k=None,
    gel_s=(3000.0, 4800.0, 9000.0),
    onset_s=NEVER,
    peak_s=NEVER,
    hottest_k=(300.0, 310.0, 325.0),
    rest_s=NEVER,
    pull_s=NEVER,
)


def warmed(warm_c: float, hottest_c: float) -> CaseAhead:
    return replace(
        NOW,
        warmed_k=warm_c + 273.15,
        gel_s=(2400.0, 3000.0, 4200.0),
        hottest_k=(310.0, 320.0, hottest_c + 273.15),
    )


def tables(words: str) -> str:
    return f"\n{words}\n"


@pytest.mark.parametrize(
    ("words", "laminate_c", "said"),
    [
        ("[conditions]\nshop_c = 19.0\nresin_c = 19.0\nform_c = 19.0", 15.0, "4 K colder than"),
        ("[conditions]\nshop_c = 16.0", 15.0, None),
        ("", 14.9, "laminate at 15 degC, below 15"),
        ("", 15.1, None),
        ('[[lots]]\nwhat = "resin"\nlot = "A"\nopened = 2026-01-10', 20.0, "opened 11 months ago"),
        ('[[lots]]\nwhat = "resin"\nlot = "A"\nopened = 2026-09-10', 20.0, None),
        ('[[lots]]\nwhat = "resin"\nlot = "A"\nexpires = 2026-12-02', 20.0, "date by 10 days"),
    ],
)
def test_what_differs_from_the_plan_is_named_and_nothing_else(
    words: str, laminate_c: float, said: str | None
) -> None:
    felt = Felt(laminate_k=laminate_c + 273.15, poured_on=ON)
    found = differences(job_of(tables(words)), felt)
    assert len(found) == (said is not None)
    assert said is None or said in found[0]


@pytest.mark.parametrize(
    ("percent", "said"),
    [(0.9, "dose 0.9 %, below 1 %"), (1.2, "where the times stand for 1.5 %"), (1.4, None)],
)
def test_a_low_dose_is_named(percent: float, said: str | None) -> None:
    found = differences(job_of(percent=percent), Felt(laminate_k=293.15, poured_on=None))
    assert len(found) == (said is not None)
    assert said is None or said in found[0]


def test_warming_stops_at_35_c_at_the_form_and_at_a_kick_that_the_part_cannot_bear() -> None:
    job = job_of("\n[limits]\nhighest_temperature_c = 60.0\n")
    assert warmer_rooms_k(job, 288.15) == pytest.approx((308.15, 303.15, 298.15))
    assert warmer_rooms_k(job, 302.15) == pytest.approx((308.15,))
    form = job_of("\n[form]\nhighest_temperature_c = 32.0\n")
    assert warmer_rooms_k(form, 288.15) == pytest.approx((303.15, 298.15))
    cases = [warmed(35.0, 66.0), warmed(30.0, 60.0), warmed(25.0, 50.0)]
    assert warmest_wise(job, cases) is cases[1]
    assert warmest_wise(job, [warmed(35.0, 80.0), warmed(30.0, 70.0)]) is None


def test_what_warming_buys_is_told_in_minutes_with_its_range() -> None:
    seen = CureForeseen(
        time_s=1200.0, governs=None, cases=(NOW, warmed(30.0, 55.0)), warm_to_k=303.15
    )
    assert warming_words(seen) == "Warmed to 30 degC: gel likely 30 min sooner (10 to 80)."
    never = replace(seen, cases=(replace(NOW, gel_s=NEVER), warmed(30.0, 55.0)))
    assert "as it is not in sight" in warming_words(never)


@pytest.mark.parametrize("text", ["", EPOXY])
@pytest.mark.parametrize("warm_to_k", [None, 298.15, 308.15])
def test_no_advice_adds_anything_to_a_wet_part_or_goes_above_35_c(
    text: str, warm_to_k: float | None
) -> None:
    seen = CureForeseen(time_s=0.0, governs=None, cases=(NOW,), warm_to_k=warm_to_k)
    words = what_to_do(job_of(text), seen)
    assert "Never add" in words
    assert "Keep the vacuum on" in words
    assert ("Warm the whole" in words) is (warm_to_k is not None)
    assert "do not warm" in warming_words(seen) or warm_to_k is not None
