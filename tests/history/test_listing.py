"""Past jobs filtered, and two of them side by side."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from firmware_host.history.listing import Row, Wanted, compared, filtered
from firmware_host.history.outcomes import Outcome

HATCH = Outcome(
    job="a-1", part="hatch cover", on=date(2026, 3, 1), resin="polyester", lot="B-77",
    form="hatch form", dose_percent=1.5, temp_k=291.15, shop_c=18.0, gel_min=42.0,
)  # fmt: skip
FAIRING = replace(
    HATCH, job="b-1", part="fairing", on=date(2026, 3, 8), form="fairing form", lot="C-01",
    resin="epoxy", shop_c=None, gel_min=None, not_by_min=90.0,
)  # fmt: skip


@pytest.mark.parametrize(
    ("wanted", "found"),
    [
        (Wanted(), ["b-1", "a-1"]),
        (Wanted(form="HATCH"), ["a-1"]),
        (Wanted(resin="epoxy"), ["b-1"]),
        (Wanted(lot="c-0"), ["b-1"]),
        (Wanted(form="fairing", resin="polyester"), []),
        (Wanted(coldest_c=18.0, warmest_c=18.0), ["a-1"]),
        (Wanted(coldest_c=18.1), []),
        (Wanted(warmest_c=17.9), []),
    ],
)
def test_jobs_are_filtered_by_form_resin_can_and_shop_newest_first(
    wanted: Wanted, found: list[str]
) -> None:
    assert [job.job for job in filtered([HATCH, FAIRING], wanted)] == found


def test_what_differs_stands_first_and_what_nobody_knows_is_a_dash() -> None:
    rows = compared(HATCH, FAIRING)
    differing = [row for row in rows if row.differs]
    assert rows[: len(differing)] == differing
    assert Row(name="gel, min", first="42", second="not by 90") in differing
    assert Row(name="shop, C", first="18.0", second="-") in differing
    assert Row(name="initiator, %", first="1.50", second="1.50") in rows[len(differing) :]


def test_a_job_beside_itself_has_no_differences() -> None:
    assert not any(row.differs for row in compared(HATCH, HATCH))
