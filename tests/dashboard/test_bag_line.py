"""The line of the bag's outlook: what it says, and that it fits."""

from __future__ import annotations

from dataclasses import replace

import pytest

from dashboard.bag_line import WHY_WORDS, bag_line
from dashboard.plain import width
from dashboard.shown import Tone, text_of
from firmware_host.model.snapshot import BagView
from tests.dashboard.parts import SNAPSHOT

BAG = BagView(
    leak_pa_per_s=10.0,
    leak_low_pa_per_s=8.0,
    leak_high_pa_per_s=14.0,
    limit_soonest_s=720.0,
    limit_latest_s=2400.0,
    pull_down_s=10.8,
    pumping_m3_per_s=2.8e-4,
    deepest_wise_pa=1251.0,
    deepest_why="styrene",
    depth_margin_pa=3639.0,
    station_pa=101325.0,
    limit_against_kick="after",
)


def said(bag: BagView | None, rule: str = "1 inHg in 5 min") -> str:
    view = replace(SNAPSHOT.view, bag=bag, drop_rule=rule)
    return text_of(bag_line(replace(SNAPSHOT, view=view), 80))


def test_it_says_how_long_it_lasts_and_how_deep_is_wise() -> None:
    assert said(BAG) == (
        " unpumped    12 to 40 min, past the kick      wise to 29.6 inHg vacuum: styrene "
    )


def test_the_depth_is_in_the_unit_of_the_persons_own_rule() -> None:
    assert said(BAG, "10 mbar in 10 min").endswith("wise to 13 mbar abs: styrene ")
    assert said(BAG, "3.3 Pa/s").endswith("wise to 13 mbar abs: styrene ")
    assert said(BAG, "1 kPa in 5 min").endswith("wise to 1.3 kPa abs: styrene ")


@pytest.mark.parametrize(
    ("against", "words"),
    [
        ("before", "~ 12 to 40 min, kick later"),
        ("unsure", " 12 to 40 min, kick unsure"),
        ("kicked", " 12 to 40 min, has kicked"),
        (None, " 12 to 40 min "),
    ],
)
def test_the_end_is_told_against_the_kick(against: str | None, words: str) -> None:
    assert words in said(replace(BAG, limit_against_kick=against))


def test_a_bag_without_an_end_says_why_none_is_given() -> None:
    none = replace(BAG, limit_soonest_s=None, limit_latest_s=None)
    assert "the limit is not in sight" in said(none)
    assert "no leak known yet" in said(replace(none, leak_pa_per_s=None))
    assert "12 min or more" in said(replace(BAG, limit_latest_s=None))
    assert "below the limit in 20 s" in said(replace(BAG, below_limit_s=20.4))
    assert said(None) == " unpumped    not known"


@pytest.mark.parametrize("why", WHY_WORDS)
def test_too_deep_is_told_by_word_and_sign_and_fits(why: str) -> None:
    deep = replace(BAG, deepest_why=why, depth_margin_pa=-100.0, limit_against_kick="before")
    line = bag_line(replace(SNAPSHOT, view=replace(SNAPSHOT.view, bag=deep)), 80)
    assert width(text_of(line)) == 80
    notice = [span.text for span in line if span.tone is Tone.NOTICE and "deep" in span.text]
    assert bool(notice) is (why != "pump")
    assert all(text.startswith("~ too deep") for text in notice)
