from __future__ import annotations

import doctest
import unicodedata
from datetime import datetime, timedelta, timezone
from types import ModuleType

import pytest
from hypothesis import given
from hypothesis import strategies as st

from firmware_host.report import charts, story, words
from firmware_host.report.words import NBSP, TimeWords, celsius, clean, duration, mbar

ZERO = datetime(2026, 3, 1, 23, 50, tzinfo=timezone(timedelta(hours=2)))
TIMES = TimeWords(zero_wall=ZERO, mixed_s=300.0)


@pytest.mark.parametrize("module", [words, story, charts])
def test_the_examples_in_the_words_hold(module: ModuleType) -> None:
    assert doctest.testmod(module).failed == 0


@given(st.text())
def test_no_character_that_steers_a_screen_survives(text: str) -> None:
    assert not any(unicodedata.category(c)[0] == "C" for c in clean(text))


@given(st.text(alphabet=st.characters(categories=("L", "N", "P", "S", "Zs"))))
def test_what_can_be_read_is_kept_as_it_is(text: str) -> None:
    assert clean(text) == text


@pytest.mark.parametrize(
    ("seconds", "said"),
    [
        (0.0, "0 s"),
        (99.4, "99 s"),
        (99.6, "1.7 min"),
        (240.0, "4 min"),
        (599.0, "10 min"),
        (600.0, "10 min"),
        (5990.0, "1 h 40 min"),
        (7380.0, "2 h 03 min"),
    ],
)
def test_a_duration_is_as_fine_as_it_is_short(seconds: float, said: str) -> None:
    assert duration(seconds).replace(NBSP, " ") == said


def test_pressure_has_tenths_only_where_they_mean_something() -> None:
    assert mbar(940.0).replace(NBSP, " ") == "9.4 mbar"
    assert mbar(994.9).replace(NBSP, " ") == "9.9 mbar"
    assert mbar(995.1).replace(NBSP, " ") == "10 mbar"


def test_nothing_is_said_to_be_minus_nought() -> None:
    assert celsius(273.149).replace(NBSP, " ") == "0.0 \u00b0C"
    assert celsius(272.15).replace(NBSP, " ") == "\u22121.0 \u00b0C"


def test_times_are_of_the_day_and_since_mixing() -> None:
    assert TIMES.wall(600.0) == "00:00"
    assert TIMES.since(360.0).replace(NBSP, " ") == "+1 min"
    assert TIMES.since(120.0).replace(NBSP, " ") == "\u22123 min"


def test_another_day_is_named_with_its_date() -> None:
    assert TIMES.wall_seconds(1.0) == "23:50:01"
    assert TIMES.wall_seconds(600.0) == "02 Mar 00:00:00"
    assert TIMES.date(0.0) == "01 March 2026"
    assert TIMES.zone() == "UTC+02:00"


def test_the_day_is_named_only_where_it_is_not_the_day_of_the_pour() -> None:
    early = TimeWords(zero_wall=ZERO, mixed_s=None)
    assert (early.when(599.0), early.when(600.0)) == ("23:59", "02 Mar 00:00")
    assert TimeWords(zero_wall=ZERO, mixed_s=600.0).when(700.0) == "00:01"


def test_without_a_wall_clock_no_time_of_day_is_made_up() -> None:
    times = TimeWords(zero_wall=None, mixed_s=None)
    assert (times.wall(5.0), times.when(5.0), times.date(5.0)) == ("\u2013", "\u2013", "")
    assert times.zone() == ""
    assert times.origin == "the start of the record"
