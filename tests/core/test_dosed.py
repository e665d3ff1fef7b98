"""The dose as it was poured, against the dose as it was planned."""

from __future__ import annotations

from functools import cache

import pytest

from firmware_host.core.monitor import Monitor
from firmware_host.model.events import MarkTaken
from tests.core.story import JOB, Told

PLANNED = JOB + '[dropper]\nname = "B"\ndrops_weighed = 20\nweighed_g = 0.72\n'
PLY = "[[plies]]\narea_m2 = 0.19\nareal_weight_g_per_m2 = 200.0\ncount = 4\n"
LOSS = "[target]\nloss_fraction = 0.15\n"
"""With the plies: 192.28 g of resin."""


def mixed(note: str, job: str = PLANNED + PLY + LOSS, then_s: float = 1.0) -> Told:
    told = Told(job)
    told.wait(60.0)
    told.mark("mixed")
    told.wait(120.0)
    told.mark("dosed", note=note)
    told.wait(then_s)
    return told


def gel_min(monitor: Monitor) -> float:
    outlook, mixed_s = monitor.cure.outlook, monitor.cure.mixed_s
    assert outlook is not None
    assert mixed_s is not None
    return (outlook.gel_s[1] - mixed_s) / 60.0


@cache
def planned_gel_min() -> float:
    return gel_min(mixed("").monitor)


@pytest.mark.parametrize("note", ["52 drops", "1.87 g", "0.975 %"])
def test_a_dose_as_poured_is_taken_at_once_however_it_was_said(note: str) -> None:
    """52 drops of 0.036 g on 192.28 g are 0.97 %: a third under plan gels about half later."""
    told = mixed(note)
    assert told.monitor.state.poured_percent == pytest.approx(0.974, abs=0.002)
    assert 1.3 < gel_min(told.monitor) / planned_gel_min() < 1.8


def test_the_dose_as_planned_changes_nothing() -> None:
    assert gel_min(mixed("1.5 %").monitor) == planned_gel_min()


@pytest.mark.parametrize("note", ["as always", "", "52", "90 g"])
def test_a_note_that_is_no_dose_is_kept_and_changes_nothing(note: str) -> None:
    told = mixed(note)
    assert told.monitor.state.poured_percent is None
    assert gel_min(told.monitor) == planned_gel_min()
    said = [one for one in told.events if isinstance(one, MarkTaken)][-1]
    assert (said.name, said.taken, said.text) == ("dosed", True, note)


def test_drops_of_a_dropper_that_was_never_weighed_are_no_dose() -> None:
    assert mixed("52 drops", JOB + PLY + LOSS).monitor.state.poured_percent is None


def test_the_dose_of_a_second_cup_leaves_the_first_ones_clock_alone() -> None:
    told = mixed("1.5 %")
    before = gel_min(told.monitor)
    told.mark("mixed")
    told.mark("dosed", note="2.4 %")
    assert told.monitor.state.second_cup_s == told.now_s
    assert told.monitor.state.poured_percent == 1.5
    assert gel_min(told.monitor) == before


def test_a_dose_that_came_before_the_mixing_mark_counts_too() -> None:
    told = Told(PLANNED + PLY + LOSS)
    told.wait(60.0)
    told.mark("dosed", note="2.4 %")
    told.wait(10.0)
    told.mark("mixed")
    told.wait(30.0)
    assert gel_min(told.monitor) < 0.75 * planned_gel_min()


def test_a_dose_told_more_than_an_hour_late_is_kept_and_moves_no_forecast() -> None:
    told = mixed("")
    for _ in range(60):
        told.now_s += 59.0
        told.wait(1.0)
    before = gel_min(told.monitor)
    told.mark("dosed", note="2.4 %")
    assert gel_min(told.monitor) == before
    assert told.monitor.state.poured_percent == 2.4
