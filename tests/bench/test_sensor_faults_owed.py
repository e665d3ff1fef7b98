"""What a bench of detectors is held to: a lie that is plain and seen by others, nothing else."""

from __future__ import annotations

import pytest

from simulations.faults import Fault, FaultKind
from simulations.scenario import load
from tests.bench.counts import Count, Counted
from tests.bench.sensor_faults_bench import Moment, Story
from tests.bench.sensor_faults_cases import LIMITS_S, PLAIN_K, Owed, faults_of, owed, takes

KICK_S = 1000.0


def job(rise_k: float, pumped_s: float = 0.0) -> Story:
    """An hour whose laminate is warmer by `rise_k` from the kick on, with a bag that is pumped."""
    moments = []
    for number in range(3600):
        at_s = float(number)
        warm_k = 295.0 + (rise_k if at_s >= KICK_S else 0.0)
        level_pa = 3000.0 if at_s >= pumped_s else 101300.0
        truth = {
            "bag": level_pa, "pump": level_pa, "barometer": 101300.0, "laminate": warm_k,
            "mould": warm_k, "shop": 295.0, "cup": warm_k,
        }  # fmt: skip
        moments.append(Moment(at_s, truth, 298.0, ()))
    return Story(scenario=load("healthy"), moments=tuple(moments))


def found(kind: FaultKind, channel: str, told: Story, start_s: float = 0.0) -> float | None:
    return owed(faults_of(channel, kind, start_s), told, int(start_s)).since_s


@pytest.mark.parametrize("kind", [FaultKind.STUCK, FaultKind.DETACHED])
def test_a_couple_that_follows_nothing_is_owed_from_the_kick_on(kind: FaultKind) -> None:
    since_s = found(kind, "part1", job(20.0))
    assert since_s is not None
    assert KICK_S <= since_s < KICK_S + 10.0


def test_a_reversed_couple_is_plain_at_once_as_its_chip_is_warmer_than_the_room() -> None:
    assert found(FaultKind.REVERSED, "part1", job(20.0), 60.0) == 60.0


def test_a_couple_wired_backwards_from_the_start_is_plain_on_the_first_warmth() -> None:
    assert found(FaultKind.REVERSED, "part1", job(20.0)) == KICK_S


def test_a_couple_that_had_nothing_to_follow_is_not_owed() -> None:
    assert found(FaultKind.STUCK, "part1", job(0.9 * PLAIN_K)) is None


@pytest.mark.parametrize("channel", ["shop", "cup"])
def test_a_couple_without_a_witness_is_not_owed(channel: str) -> None:
    assert found(FaultKind.STUCK, channel, job(20.0)) is None


def test_what_a_chip_says_is_owed_at_once_on_every_channel() -> None:
    fault = Fault(channel="shop", kind=FaultKind.OPEN, start_s=7.0)
    assert owed(fault, job(0.0), 7) == Owed(since_s=7.0, limit_s=LIMITS_S[FaultKind.OPEN])


def test_a_gauge_off_its_hose_is_owed_only_where_a_pull_down_tells() -> None:
    assert found(FaultKind.DETACHED, "bag", job(0.0)) is None
    assert found(FaultKind.DETACHED, "pump", job(0.0)) is None
    assert found(FaultKind.DETACHED, "pump", job(0.0, pumped_s=600.0)) == 600.0


def test_one_of_two_gauges_that_disagree_is_not_owed_and_one_of_three_couples_is() -> None:
    assert found(FaultKind.WRONG, "bag", job(0.0)) is None
    assert found(FaultKind.WRONG, "part1", job(0.0), 60.0) == 60.0
    assert found(FaultKind.WRONG, "part1", job(0.0)) is None, "a zero, which is told"


def test_leads_that_changed_places_in_one_laminate_are_not_owed() -> None:
    assert found(FaultKind.SWAPPED, "part1", job(20.0)) is None


def test_a_walk_is_owed_only_while_the_laminate_is_cool() -> None:
    cool_s, warm_s = found(FaultKind.DRIFTING, "part1", job(0.0)), job(20.0)
    assert cool_s is not None
    assert owed(faults_of("part1", FaultKind.DRIFTING, KICK_S), warm_s, int(KICK_S)).since_s is None


def test_no_gauge_has_leads_to_bridge() -> None:
    assert not takes("bag", FaultKind.BRIDGED)
    assert takes("mould", FaultKind.BRIDGED)


def test_a_campaign_is_met_when_every_figure_is() -> None:
    good = Count(what="found", value=0.9, at_least=0.9)
    bad = Count(what="others", value=1, at_most=0)
    assert Counted(name="x", counts=(good, Count(what="runs", value=3))).is_met
    assert not Counted(name="x", counts=(good, bad)).holds(10.0)
    assert "at most 0: FAIL" in Counted(name="x", counts=(bad,)).table()
