"""From events to facts: what a record teaches, and what it must not."""

from __future__ import annotations

import math
from datetime import date

import pytest

from firmware_host.config.load import parse_job
from firmware_host.history.outcomes import Kind, Outcome
from firmware_host.history.seen import outcomes_of, said_by, steady_equivalent_k
from firmware_host.model.events import (
    AlarmChanged,
    AlarmState,
    Event,
    GelPlaced,
    LeakChecked,
    MarkTaken,
    Phase,
    PhaseEntered,
    Verdict,
)

JOB = parse_job(
    """
[job]
part = "drone fairing"
[resin]
family = "polyester"
[sheet]
name = "sheet of May"
[form]
name = "fairing form"
[weighed]
dry_g = 100.0
part_g = 190.0
[[lots]]
what = "resin"
lot = "B-77"
opened = 2026-02-01
""",
    "job.toml",
)
ON = date(2026, 3, 3)
TEMPS_K = [291.15] * 3


def mark(name: str, at_s: float, *, taken: bool = True) -> MarkTaken:
    return MarkTaken(time_s=at_s, name=name, at_s=at_s, taken=taken, text="")


def kicked(time_s: float) -> PhaseEntered:
    return PhaseEntered(time_s=time_s, phase=Phase.KICKED, since_s=time_s)


def gel(gel_s: float, low_s: float, high_s: float) -> GelPlaced:
    return GelPlaced(time_s=high_s, gel_s=gel_s, low_s=low_s, high_s=high_s)


def late(raised_s: float) -> AlarmChanged:
    return AlarmChanged(
        time_s=raised_s, id="exotherm_late-1", name="exotherm_late", channel=None,
        state=AlarmState.ACTIVE, priority="high", raised_s=raised_s, cleared_s=None, text="",
        action="",
    )  # fmt: skip


def taught(*events: Event) -> Outcome:
    (one,) = outcomes_of("2026-03-03-fairing-1", JOB, ON, said_by(events), TEMPS_K, 1.5)
    return one


POUR = (mark("mixed", 60.0), mark("bag_closed", 1260.0))


def test_a_kick_that_heat_placed_is_the_whole_outcome() -> None:
    drop_test = LeakChecked(
        time_s=1500.0, number=1, start_s=1300.0, end_s=1500.0, decided_s=1400.0,
        rise_pa_per_s=0.5, rise_low_pa_per_s=0.1, rise_high_pa_per_s=0.9,
        whole_rise_pa_per_s=1.0, limit_pa_per_s=3.3, verdict=Verdict.TIGHT, final=True,
    )  # fmt: skip
    one = taught(*POUR, drop_test, kicked(2800.0), gel(2460.0, 2310.0, 2620.0))
    assert one == Outcome(
        job="2026-03-03-fairing-1",
        part="drone fairing",
        on=ON,
        kind=Kind.SHELL,
        resin="polyester, sheet of May",
        lot="B-77",
        form="fairing form",
        dose_percent=1.5,
        temp_k=steady_equivalent_k(TEMPS_K),
        gel_min=40.0,
        gel_ln_sd=math.log(2560.0 / 2250.0) / 3.92,
        opened=date(2026, 2, 1),
        work_min=20.0,
        drop_test="tight",
        resin_fraction=1.0 - 100.0 / 190.0,
    )
    assert one.days_open == 30


def test_the_last_word_on_the_gel_replaces_the_first() -> None:
    one = taught(*POUR, kicked(2800.0), gel(2000.0, 1900.0, 2100.0), gel(2460.0, 2310.0, 2620.0))
    assert one.gel_min == 40.0


@pytest.mark.parametrize(
    "events",
    [
        (*POUR, gel(2460.0, 2310.0, 2620.0)),
        (*POUR, kicked(2800.0), gel(2460.0, 1000.0, 5000.0)),
        (kicked(2800.0), gel(2460.0, 2310.0, 2620.0)),
        (mark("mixed", 3000.0), kicked(2800.0), gel(2460.0, 2310.0, 2620.0)),
        (mark("mixed", 60.0, taken=False), kicked(2800.0), gel(2460.0, 2310.0, 2620.0)),
        POUR,
    ],
    ids=["no kick", "badly placed", "no pour", "gel before the pour", "mark refused", "no gel"],
)
def test_what_nobody_saw_teaches_no_gel(events: tuple[Event, ...]) -> None:
    one = taught(*events)
    assert (one.gel_min, one.not_by_min, one.teaches) == (None, None, False)


def test_a_gel_that_was_called_late_and_never_came_is_a_bound() -> None:
    one = taught(*POUR, late(5460.0))
    assert (one.gel_min, one.not_by_min) == (None, 90.0)
    assert one.alarms == ("exotherm_late",)
    assert one.teaches


def test_a_late_gel_that_came_after_all_is_a_gel() -> None:
    one = taught(*POUR, late(5460.0), kicked(6800.0), gel(6060.0, 5800.0, 6300.0))
    assert (one.gel_min, one.not_by_min) == (100.0, None)


def test_mixed_and_seen_to_gel_without_a_bag_is_a_cup_test() -> None:
    one = taught(mark("mixed", 60.0), mark("gel_seen", 1260.0))
    assert (one.kind, one.gel_min, one.gel_ln_sd) == (Kind.CUP, 20.0, 0.05)


def test_a_finger_on_a_bagged_part_makes_no_cup_of_it() -> None:
    one = taught(*POUR, mark("gel_seen", 2600.0), gel(2460.0, 2310.0, 2620.0))
    assert (one.kind, one.gel_min) == (Kind.SHELL, 40.0)


def test_the_steady_equivalent_of_a_warm_and_a_cold_hour_lies_above_their_mean() -> None:
    """By hand: mean of exp(-E/RT) at 15 and 25 C, 58 kJ/mol, is that of 20.9 C."""
    found = steady_equivalent_k([288.15, 298.15])
    assert found is not None
    assert found - 273.15 == pytest.approx(20.906, abs=0.005)
    assert steady_equivalent_k([]) is None
