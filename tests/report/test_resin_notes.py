"""What the page says of the resin: each word with its reason, and what was expected."""

from __future__ import annotations

import pytest

from firmware_host.model.events import CaseAhead, CureForeseen, CureMoved, CureState, PhaseEntered
from firmware_host.report.words import NBSP
from tests.report.test_build import answers, built, details, facts_of, whole

MISSING = ("for vacuum off: wanted 8 K over shop (up to 5)", "at least 41% cured (60%)")
MET = ("gel and peak are past", "2 K over shop (up to 5)")


def moved(
    time_s: float, state: CureState, why: tuple[str, ...], *, late: bool = False
) -> CureMoved:
    return CureMoved(time_s=time_s, state=state, late=late, why=why)


def release_s() -> float:
    return next(
        e.since_s for e in whole() if isinstance(e, PhaseEntered) and e.phase.value == "released"
    )


@pytest.mark.parametrize(
    ("state", "why", "said"),
    [
        (CureState.MAY_REST, MET, "Vacuum came off when it might: may rest."),
        (
            CureState.COOLING,
            MISSING,
            "Vacuum came off before it was advised: cooling (wanted 8 K over shop (up to 5); "
            "at least 41% cured (60%)).",
        ),
    ],
)
def test_the_page_says_whether_vacuum_came_off_when_it_might(
    state: CureState, why: tuple[str, ...], said: str
) -> None:
    report = built(facts_of(whole(moved(release_s() - 1.0, state, why))))
    assert said in details(report, "Resin")


def test_a_late_kick_is_called_late_in_headline_and_table() -> None:
    report = built(facts_of(whole(moved(4000.0, CureState.KICKED, (), late=True))))
    assert answers(report)["Resin"] == "Gelled 55 min after mixing, kicked late"
    assert [row.state for row in report.states] == ["kicked late"]


def test_what_was_foreseen_stands_with_its_range() -> None:
    pour_s = facts_of(whole()).story.pour
    assert pour_s is not None
    zero = pour_s.time_s
    now = CaseAhead(
        warmed_k=None,
        gel_s=(zero + 3000.0, zero + 3600.0, zero + 4800.0),
        onset_s=(None, None, None),
        peak_s=(zero + 4800.0, zero + 6000.0, zero + 7800.0),
        hottest_k=(300.0, 315.0, 331.15),
        rest_s=(zero + 10800.0, zero + 12600.0, None),
        pull_s=(None, None, None),
    )
    warm = CaseAhead(
        warmed_k=303.15,
        gel_s=(zero + 2400.0, zero + 2700.0, zero + 3300.0),
        onset_s=now.onset_s,
        peak_s=now.peak_s,
        hottest_k=now.hottest_k,
        rest_s=now.rest_s,
        pull_s=now.pull_s,
    )
    seen = CureForeseen(time_s=900.0, governs="part1", cases=(now, warm), warm_to_k=303.15)
    (row,) = built(facts_of(whole(seen))).ahead
    shown = [row.peak, row.hottest, row.rest, row.pull, row.warmed, row.governs]
    assert [text.replace(NBSP, " ") for text in shown] == [
        "80 to 130, likely 100",
        "up to 58.0 \u00b0C",
        "180 to later, likely 210",
        "\u2013",
        "30.0 \u00b0C: 15 min sooner",
        "part1",
    ]
