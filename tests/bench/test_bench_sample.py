"""Each bench once, short and seeded: the ratios hold, give or take a busy machine."""

from __future__ import annotations

import pytest

from tests.bench.figures import NOISE, Found, Goal, Pair
from tests.bench.registry import BENCHES

SEED = 7
LONG = (
    "steady_cost",
    "daemon_rss",
    "report_24h",
    "panel_cpu",
    "puback",
    "fuzz",
    "record_disk",
    "plan_speed",
    "panel_start",
    "cure_states",
    "cure_strangers",
    "flow_alarms",
    "daemon_cpu",
    "quiet_night",
    "replay_speed",
    "cure_accuracy",
)
"""A quarter of a minute each, or so."""


@pytest.mark.parametrize(
    "name",
    [pytest.param(name, marks=[pytest.mark.campaign] if name in LONG else []) for name in BENCHES],
)
def test_a_short_run_meets_its_goal(name: str) -> None:
    found = BENCHES[name](SEED, full=False)
    print(found.table())
    assert found.holds(NOISE), found.table()


def test_a_goal_has_its_edge_and_its_side() -> None:
    assert Goal(ratio=1.5).is_met(1.5)
    assert not Goal(ratio=1.5).is_met(1.51)
    assert Goal(ratio=1.5).is_met(1.8, slack=1.3)
    assert Goal(ratio=2000.0, at_most=False).is_met(2000.0)
    assert not Goal(ratio=2000.0, at_most=False).is_met(1999.0)


def test_a_bench_whose_interval_crosses_its_goal_has_not_met_it() -> None:
    pairs = tuple(Pair(ours=ours, peer=1.0) for ours in (1.0, 1.0, 1.0, 1.6, 1.6))
    found = Found(name="x", ours="", peer="", goal=Goal(ratio=1.5), pairs=pairs)
    assert found.ratio == 1.0
    assert found.interval() == (1.0, 1.6)
    assert not found.is_met
    assert "goal at most 1.5: FAIL" in found.table()
