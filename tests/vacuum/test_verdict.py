"""When a verdict may be spoken, kept and taken back."""

from __future__ import annotations

import pytest

from firmware_host.model.events import Verdict
from firmware_host.vacuum.rise import LineFit, RiseEstimate
from firmware_host.vacuum.verdict import Judgement, judge

UNDECIDED = Judgement()
LEAKING = Judgement(verdict=Verdict.LEAKING, decided_s=60.0)
TIGHT = Judgement(verdict=Verdict.TIGHT, decided_s=60.0)


def chance(above: float) -> RiseEstimate:
    return RiseEstimate(
        rise_pa_per_s=10.0,
        low_pa_per_s=5.0,
        high_pa_per_s=15.0,
        chance_above_limit=above,
        whole=LineFit(rise_pa_per_s=10.0, rise_stderr_pa_per_s=1.0),
    )


def judged(earlier: Judgement, estimate: RiseEstimate | None) -> Judgement:
    return judge(earlier, estimate, 160.0)


@pytest.mark.parametrize(
    ("above", "verdict"),
    [
        (1.0, Verdict.LEAKING),
        (0.99, Verdict.LEAKING),
        (0.9899, Verdict.UNDECIDED),
        (0.5, Verdict.UNDECIDED),
        (0.0101, Verdict.UNDECIDED),
        (0.0099, Verdict.TIGHT),
        (0.0, Verdict.TIGHT),
    ],
)
def test_a_verdict_is_first_spoken_at_99_percent(above: float, verdict: Verdict) -> None:
    decided_s = None if verdict is Verdict.UNDECIDED else 160.0
    assert judged(UNDECIDED, chance(above)) == Judgement(verdict=verdict, decided_s=decided_s)


@pytest.mark.parametrize(
    ("earlier", "above", "stands"),
    [(LEAKING, 0.90, True), (LEAKING, 0.89, False), (TIGHT, 0.10, True), (TIGHT, 0.11, False)],
)
def test_a_spoken_verdict_stands_while_it_keeps_90_percent(
    earlier: Judgement, above: float, *, stands: bool
) -> None:
    assert judged(earlier, chance(above)) == (earlier if stands else UNDECIDED)


def test_a_verdict_keeps_the_time_at_which_it_was_first_sure() -> None:
    assert judged(LEAKING, chance(0.9999)).decided_s == 60.0


@pytest.mark.parametrize(
    ("earlier", "above", "turned"),
    [(TIGHT, 0.999, Verdict.LEAKING), (LEAKING, 0.001, Verdict.TIGHT)],
)
def test_a_verdict_turns_round_by_two_looks_and_is_sure_anew(
    earlier: Judgement, above: float, turned: Verdict
) -> None:
    first = judged(earlier, chance(above))
    assert first == UNDECIDED
    assert judged(first, chance(above)) == Judgement(verdict=turned, decided_s=160.0)


def test_without_an_estimate_what_was_said_stands() -> None:
    assert judged(TIGHT, None) == TIGHT
    assert judged(UNDECIDED, None) == UNDECIDED
