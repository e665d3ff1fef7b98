"""What the report says of the bag beyond the verdict."""

from __future__ import annotations

from dataclasses import replace

import pytest

from firmware_host.config.load import parse_job
from firmware_host.model.events import LeakChecked, Verdict
from firmware_host.report.bag_notes import settles, settling_words
from firmware_host.report.words import NBSP
from tests.report.parts import JOB, drop_test
from tests.report.test_build import built, facts_of, whole

DIAL = LeakChecked(
    time_s=300.0,
    number=1,
    start_s=0.0,
    end_s=300.0,
    decided_s=120.0,
    rise_pa_per_s=0.35,
    rise_low_pa_per_s=0.02,
    rise_high_pa_per_s=0.86,
    whole_rise_pa_per_s=0.999791,
    limit_pa_per_s=11.28796,
    verdict=Verdict.TIGHT,
    final=True,
)


def notes(*tests: LeakChecked, job: str = JOB) -> str:
    facts = replace(facts_of(whole(*tests)), job=parse_job(job, "job.toml"))
    return " ".join(built(facts).bag_notes).replace(NBSP, " ")


def test_a_rise_that_was_mostly_settling_is_told_as_such() -> None:
    assert settling_words(DIAL).replace(NBSP, " ") == (
        "Test 1: the gauge rose 3.0 mbar in 5 min in all; about 65% of that was settling, "
        "outgassing or warmth."
    )


def test_a_rise_that_may_all_be_air_is_not_explained_away() -> None:
    assert not settles(replace(DIAL, rise_high_pa_per_s=1.0))
    assert settling_words(replace(DIAL, rise_high_pa_per_s=1.0)) == ""
    assert settling_words(replace(DIAL, rise_pa_per_s=None, rise_high_pa_per_s=None)) == ""


def test_the_leak_is_given_in_the_units_of_other_people() -> None:
    # 1 inHg in 5 min in 3 L: 20.05 cm3/min, 18.68 standard, 0.3386 mbar l/s, 57.4 um (Cd 0.65),
    # and a kelvin or two of shop and laminate that move none of the two figures.
    said = notes(drop_test(2, 2400.0, Verdict.UNDECIDED, 11.28796, 20.0))
    assert "That leak is 20 cm\u00b3 of room air a minute (19 standard cm\u00b3 at 0 C" in said
    assert "0.34 mbar l/s): as much as one pinhole of the order of 57 \u00b5m." in said
    without = JOB.replace("free_volume_l = 3.0\n", "")
    assert "room air" not in notes(drop_test(2, 2400.0, Verdict.TIGHT, 1.0, 2.0), job=without)


@pytest.mark.parametrize(
    ("rise", "high", "words"),
    [
        # From 15 mbar to 150: 13.5 kPa. The gel lies 52 to 59 min after mixing, at 3600 s.
        (90.0, 135.0, "for 1.7 min to 5 min, before the kick."),
        (1.0, 2.0, "for 1 h 52 min to 7 h 34 min, past the kick."),
    ],
)
def test_it_is_told_how_long_the_vacuum_would_have_lasted(
    rise: float, high: float, words: str
) -> None:
    said = notes(drop_test(2, 1900.0, Verdict.LEAKING, rise, high))
    assert f"With the pump off it would have kept the vacuum {words}" in said


def test_the_depth_is_held_against_the_warmest_laminate() -> None:
    # 1.5 times the vapour pressure of styrene at 42.0 C (about 2.1 kPa: four published fits).
    metric = JOB.replace('"1 inHg in 5 min"', '"10 mbar in 10 min"')
    said = notes(job=metric)
    assert "Deepest wise vacuum: 32 mbar abs; below that styrene makes bubbles" in said
    assert "hottest, 42.0 \u00b0C. The deepest was 15 mbar abs." in said
    bound = notes(job=metric + "[form]\ncrush_kpa = 104.0\n[conditions]\naltitude_m = 0.0\n")
    assert "Deepest wise vacuum: 493 mbar abs; the form bears no more." in bound
