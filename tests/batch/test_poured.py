"""The dose as it was poured, from a note written with sticky gloves."""

from __future__ import annotations

import pytest

from firmware_host.batch.poured import poured_percent
from firmware_host.config.plan_tables import Dropper

B = Dropper(name="B", drops_weighed=20, weighed_g=0.72)


@pytest.mark.parametrize(
    ("note", "percent"),
    [
        ("2.88 g", 1.5),
        ("2,88g", 1.5),
        ("52 drops", 0.975),
        ("1.4 %", 1.4),
        ("2 DROPS", 0.0375),
        ("", None),
        ("52", None),
        ("about 52 drops", None),
        ("-3 g", None),
        ("0 g", None),
        ("50 g", None),
        ("2.9 kg", None),
    ],
)
def test_grams_drops_and_percent_are_a_dose_and_nothing_else_is(
    note: str, percent: float | None
) -> None:
    assert poured_percent(note, 192.0, B) == percent


def test_drops_of_a_dropper_that_was_not_weighed_are_no_dose() -> None:
    assert poured_percent("52 drops", 192.0, None) is None
    assert poured_percent("52 drops", 192.0, Dropper(name="C")) is None
