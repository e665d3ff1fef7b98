"""Initiator: grams, millilitres, drops, ounces, and how far a count can be off."""

from __future__ import annotations

import pytest

from firmware_host.batch.dose import (
    Drops,
    counting_sd,
    drops_for,
    ounces,
    percent_of_drops,
)
from firmware_host.config.plan_tables import Dropper, Ounce

A = Dropper(name="A", drops_weighed=20, weighed_g=1.10)
B = Dropper(name="B", drops_weighed=20, weighed_g=0.72)


def test_one_percent_of_a_fluid_ounce_is_under_six_drops_of_a_twentieth_of_a_millilitre() -> None:
    """29.5735 ml of resin at 1.10 g/ml; drops of 0.05 ml at 1.15 g/ml: 5.658. By hand."""
    grams = 0.01 * 29.5735 * 1.10
    fine = Dropper(drops_weighed=20, weighed_g=20 * 0.05 * 1.15)
    assert grams == pytest.approx(0.3253, abs=1e-4)
    assert percent_of_drops(5.658, fine, 29.5735 * 1.10) == pytest.approx(1.0, abs=1e-3)


def test_the_same_grams_are_other_counts_from_another_dropper() -> None:
    assert drops_for(2.88, A).count == 52
    assert drops_for(2.88, B).count == 80
    assert drops_for(6.2239, A).count == 113
    assert drops_for(6.2239, Dropper(drops_weighed=20, weighed_g=0.6)).count == 207


def test_an_unweighed_dropper_gives_a_range_and_no_count() -> None:
    assert drops_for(2.88, None) == Drops(count=None, low=36.0, high=288.0)
    assert drops_for(2.88, Dropper(name="C")) == Drops(count=None, low=36.0, high=288.0)
    assert percent_of_drops(52, Dropper(name="C"), 192.0) is None


@pytest.mark.parametrize(("drops", "sd"), [(10, 0.035), (20, 0.022), (50, 0.015)])
def test_counting_errors_add_up_as_worked_by_hand(drops: int, sd: float) -> None:
    """Drops 5 % apart, scale 0.005 g on 1.10 g: calibration 1.2 %, and half a drop of rounding."""
    assert counting_sd(drops, A) == pytest.approx(sd, abs=5e-4)


def test_the_interval_of_a_count_holds_the_count() -> None:
    drops = drops_for(2.88, A)
    assert drops.count is not None
    assert drops.low < drops.count < drops.high


@pytest.mark.parametrize(("count", "too_many"), [(50, False), (51, True)])
def test_above_fifty_drops_it_is_better_weighed(count: int, too_many: bool) -> None:  # noqa: FBT001 - a table column
    assert Drops(count=count, low=1.0, high=99.0).too_many is too_many


def test_twelve_drops_an_ounce_on_seven_ounces_are_eighty_four() -> None:
    """Common practice, no source; and only with the kind of ounce said."""
    assert 12.0 * ounces(7.0 * 28.349523125, Ounce.WEIGHT) == pytest.approx(84.0)
    assert 12.0 * ounces(7.0 * 29.5735295625 * 1.10, Ounce.FLUID) == pytest.approx(84.0)


def test_the_two_ounces_of_resin_are_fifteen_percent_apart() -> None:
    assert ounces(500.0, Ounce.WEIGHT) / ounces(500.0, Ounce.FLUID) == pytest.approx(1.15, abs=0.01)
