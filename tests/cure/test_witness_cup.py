"""A thin skin on plaster through the whole core: it cannot be seen, and a cup beside it can.

The batch is of other laws than the bank's: `foreign.py`. A skin of a millimetre warms its couple by
some tenths; the same mix in an insulated cup kicks for anybody to see.
"""

from __future__ import annotations

import numpy as np
import pytest

from firmware_host.config.load import parse_job
from firmware_host.core.monitor import Monitor
from firmware_host.model.channels import channel_named
from firmware_host.model.events import AlarmChanged, AlarmState, CureMoved, CureState, Event
from firmware_host.model.samples import Frame, Group, Mark, Reason

pytestmark = pytest.mark.campaign

JOB = """
[job]
part = "drone fairing skin"
initiator_percent = 1.5
[resin]
family = "polyester"
[laminate]
thickness_mm = 1.0
mould_heat_kj_per_m2k = 44.4
contact_w_per_m2k = 38.0
[limits]
latest_gel_min = 120.0
[cup]
resin_g = 50.0
loss_w_per_k = 0.06
"""
SHOP_K, ROOM_PA, DEEP_PA = 293.15, 101_300.0, 4_000.0
MIXED_S, EVERY_S, END_S = 600.0, 5.0, 6600.0
GEL_S, TOP_S, TOP_K = 2100.0, 3000.0, 95.0
"""Of the cup: gel 35 min after mixing, peak a quarter of an hour later (published cups: peak over
gel 1.2 to 3)."""


def cup_k(time_s: float) -> float:
    """Warmth of the cup over the shop: a slow start, a kick, and cooling by its losses."""
    since_s = time_s - MIXED_S
    if since_s < TOP_S:
        return TOP_K / (1.0 + float(np.exp(-(since_s - TOP_S + 180.0) / 110.0)))
    return TOP_K * float(np.exp(-(since_s - TOP_S) / 1500.0)) * 0.84


def watched(*, cup: bool) -> list[Event]:
    names = ("bag", "part1", "mould", "shop", *(("cup",) if cup else ()))
    group = Group("bench", tuple(channel_named(name) for name in names), EVERY_S)
    monitor = Monitor(parse_job(JOB, "job.toml"), (group,))
    rng = np.random.default_rng(7)
    said: list[Event] = []
    now_s = 0.0
    while now_s < END_S:
        now_s += EVERY_S
        if now_s == MIXED_S:
            said += monitor.step(Mark(now_s, "mixed", now_s, ""))
        if now_s == MIXED_S + 900.0:
            said += monitor.step(Mark(now_s, "bag_closed", now_s, ""))
        skin = 0.6 * np.exp(-(((now_s - MIXED_S - 3300.0) / 700.0) ** 2))
        temps = [SHOP_K + skin, SHOP_K + 0.4 * skin, SHOP_K]
        temps += [SHOP_K + cup_k(now_s)] if cup else []
        shown = [float(np.round((t + rng.normal(0.0, 0.06)) / 0.0625) * 0.0625) for t in temps]
        bag_pa = DEEP_PA if now_s > MIXED_S + 960.0 else ROOM_PA
        values = (bag_pa + rng.normal(0.0, 15.0), *shown)
        none: tuple[Reason | None, ...] = (None,) * len(values)
        said += monitor.step(Frame(now_s, 0, values, none))
    return said


def test_without_a_cup_it_says_that_it_cannot_see_and_asks_for_one() -> None:
    said = watched(cup=False)
    moved = [event for event in said if isinstance(event, CureMoved)]
    assert moved[0].state is CureState.NOT_OBSERVABLE
    assert "cannot see" in moved[0].why[0]
    assert "witness cup" in moved[0].why[1]
    never = (CureState.KICKED, CureState.NO_KICK, CureState.DIED)
    assert not [event for event in moved if event.state in never]


@pytest.fixture(scope="module")
def with_cup() -> list[Event]:
    return watched(cup=True)


def test_with_the_cup_it_says_kicked(with_cup: list[Event]) -> None:
    moved = [event for event in with_cup if isinstance(event, CureMoved)]
    kicks = [event.time_s for event in moved if event.state is CureState.KICKED]
    assert kicks
    assert MIXED_S + GEL_S - 600.0 < kicks[0] < MIXED_S + TOP_S + 1800.0
    assert CureState.NOT_OBSERVABLE not in [event.state for event in moved]


def test_neither_raises_anything_about_the_resin(with_cup: list[Event]) -> None:
    names = {
        event.name
        for event in with_cup
        if isinstance(event, AlarmChanged) and event.state is AlarmState.ACTIVE
    }
    assert names <= {"cup_hot"}
