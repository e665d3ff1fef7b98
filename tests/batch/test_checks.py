"""What must hold before a cup is mixed: each limit at its edge and one step either side."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from firmware_host.batch.checks import (
    Measured,
    cup_reasons,
    dose_limits,
    dose_reasons,
    lot_reasons,
    pressure_reasons,
    ratio_reasons,
    temperature_reasons,
    vacuum_reasons,
)
from firmware_host.batch.reasons import Reason, Weight, answered
from firmware_host.config.plan_tables import CupTest, Form, Lot, Override, Sheet

TODAY = date(2026, 3, 10)


def measured(**changes: float) -> Measured:
    whole = {"shop_c": 20.0, "resin_c": 20.0, "form_c": 20.0, "station_pressure_hpa": 1009.0}
    return Measured(**(whole | changes))


def said(reasons: list[Reason]) -> list[tuple[str, Weight]]:
    return [(reason.name, reason.weight) for reason in reasons]


@pytest.mark.parametrize("what", ["shop", "resin", "form"])
@pytest.mark.parametrize(
    ("temp_c", "found"),
    [
        (14.9, ("cold", Weight.BLOCKS)),
        (15.0, ("cool", Weight.NOTICE)),
        (17.9, ("cool", Weight.NOTICE)),
        (18.0, None),
    ],
)
def test_the_coldest_of_air_resin_and_form_rules(
    what: str, temp_c: float, found: tuple[str, Weight] | None
) -> None:
    reasons = temperature_reasons(measured(**{f"{what}_c": temp_c}), None)
    assert said(reasons) == ([(f"{what}_{found[0]}", found[1])] if found else [])


def test_the_sheet_moves_the_cold_limit() -> None:
    reasons = temperature_reasons(measured(form_c=12.0), Sheet(coldest_c=10.0))
    assert said(reasons) == [("form_cool", Weight.NOTICE)]


@pytest.mark.parametrize(
    ("percent", "found"),
    [
        (0.99, [("dose_low", Weight.BLOCKS)]),
        (1.0, []),
        (2.5, []),
        (2.51, [("dose_high", Weight.BLOCKS)]),
        (3.0, [("dose_high", Weight.BLOCKS)]),
        (3.01, [("dose_high", Weight.FORBIDS)]),
    ],
)
def test_a_dose_is_free_explained_or_never(percent: float, found: list[tuple[str, Weight]]) -> None:
    assert said(dose_reasons(percent, None)) == found


def test_the_makers_range_replaces_ours_and_is_never_passed() -> None:
    sheet = Sheet(lowest_percent=0.8, highest_percent=2.0)
    assert said(dose_reasons(0.9, sheet)) == []
    assert said(dose_reasons(2.1, sheet)) == [("dose_high", Weight.FORBIDS)]
    assert dose_limits(sheet).whose == "the maker's sheet"


@pytest.mark.parametrize(("parts", "names"), [(30.9, []), (31.0, ["ratio_off"]), (29.1, [])])
def test_a_hardener_is_three_percent_at_most_off_its_sheet(parts: float, names: list[str]) -> None:
    reasons = ratio_reasons(parts, Sheet(hardener_parts_per_100=30.0))
    assert [one.name for one in reasons] == names


def test_an_unknown_ratio_is_never_guessed() -> None:
    assert said(ratio_reasons(None, None)) == [("ratio_unknown", Weight.FORBIDS)]


def lot(days: int, what: str = "resin") -> Lot:
    return Lot(what=what, lot="B-77", expires=TODAY + timedelta(days=days))


def cup(days_ago: int | None) -> CupTest:
    on = None if days_ago is None else TODAY - timedelta(days=days_ago)
    return CupTest(gel_min=20.0, at_c=20.0, on=on)


@pytest.mark.parametrize(
    ("can", "cups", "names"),
    [
        (lot(0), [], []),
        (lot(-1), [], ["lot_expired"]),
        (lot(-1), [cup(0)], ["lot_old"]),
        (lot(-1), [cup(30)], ["lot_old"]),
        (lot(-1), [cup(31)], ["lot_expired"]),
        (lot(-1), [cup(None)], ["lot_expired"]),
        (lot(-1, "cloth"), [cup(0)], ["lot_expired"]),
        (lot(-1, "initiator"), [cup(0)], ["lot_old"]),
    ],
    ids=["last day", "expired", "cup today", "cup in time", "old cup", "undated", "cloth", "both"],
)
def test_a_fresh_cup_overrules_a_date(can: Lot, cups: list[CupTest], names: list[str]) -> None:
    assert [one.name for one in lot_reasons([can], cups, TODAY, is_epoxy=False)] == names


@pytest.mark.parametrize(
    ("hpa", "altitude_m", "doubtful"),
    [
        (1015.0, 1600.0, True),
        (835.0, 1600.0, False),
        (1015.0, 0.0, False),
        (1059.0, None, False),
        (1061.0, None, True),
        (1013.2, None, False),
        (1013.25, None, True),
    ],
)
def test_a_sea_level_figure_at_altitude_is_questioned(
    hpa: float,
    altitude_m: float | None,
    doubtful: bool,  # noqa: FBT001 - a table column
) -> None:
    where = measured(station_pressure_hpa=hpa)
    if altitude_m is not None:
        where = measured(station_pressure_hpa=hpa, altitude_m=altitude_m)
    assert bool(pressure_reasons(where)) is doubtful


def test_a_pump_that_goes_deeper_than_the_form_bears_is_said() -> None:
    assert [one.name for one in vacuum_reasons(60.1, Form(deepest_vacuum_kpa=60.0))] == ["too_deep"]
    assert vacuum_reasons(60.0, Form(deepest_vacuum_kpa=60.0)) == []
    # A foam of 104 kPa is trusted with half of it.
    assert [one.name for one in vacuum_reasons(52.1, Form(crush_kpa=104.0))] == ["too_deep"]
    assert vacuum_reasons(52.0, Form(crush_kpa=104.0)) == []
    assert vacuum_reasons(90.0, Form(crush_kpa=104.0, deepest_vacuum_kpa=95.0)) == []
    assert vacuum_reasons(100.0, None) == []


def test_more_than_half_a_kilogram_in_one_cup_is_said() -> None:
    assert cup_reasons(500.0) == []
    assert [one.name for one in cup_reasons(501.0)] == ["cup_large"]


def test_words_help_against_what_blocks_and_not_against_what_forbids() -> None:
    typed = (Override(name="dose_high", reason="small batch, cold shop", by="M."),)
    (blocks,), (forbids,) = dose_reasons(2.8, None), dose_reasons(3.5, None)
    assert not answered(blocks, typed).stands
    assert answered(blocks, typed).set_aside == "small batch, cold shop (M.)"
    assert answered(forbids, typed).stands
    assert answered(blocks, ()).stands
