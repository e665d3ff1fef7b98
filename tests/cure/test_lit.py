"""Warmth that nobody told of: a lamp is no kick, and the kick after it is placed where it was."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from firmware_host.cure.lit import BEND_LOOKS, CLAIM, KEPT, Lit, Node
from firmware_host.model.events import CureMoved, CureState
from tests.cure.unlike_jobs import BEFORE_S, Draw, story, watched
from tests.cure.unlike_scores import score

FLOOR_K = 0.35
YET = np.array([False])
GELLED = np.array([True])
COLD = np.zeros(1)


def price_of(rises_k: list[float]) -> float:
    """What a rise costs a member that has not gelled, were it all a lamp's."""
    lit = Lit(1)
    for rise_k in rises_k:
        lit.take(Node.LAMINATE, rise_k, COLD, FLOOR_K, YET, 1.0 / 6.0)
    return -float(lit.log_likelihood()[0])


def test_a_lamp_costs_less_than_a_kick_to_the_same_warmth() -> None:
    minutes = np.arange(40.0)
    lamp = 8.0 * -np.expm1(-minutes / 15.0)
    kick = 8.0 * np.expm1(minutes / 8.0) / np.expm1(39.0 / 8.0)
    assert price_of(list(kick)) > price_of(list(lamp)) + 1.0


def test_a_part_that_stays_cold_costs_the_claim_alone() -> None:
    assert price_of([0.0] * (3 * BEND_LOOKS)) == pytest.approx(CLAIM)


def test_from_the_gel_on_a_lamp_adds_less_and_less() -> None:
    """A member that explains the first warmth by a lamp owes all that comes beyond it."""
    lit, fine = Lit(1), Lit(1)
    for one in (lit, fine):
        one.take(Node.LAMINATE, 5.0, COLD, FLOOR_K, YET, 1.0 / 6.0)
    lit.take(Node.LAMINATE, 5.0, COLD, FLOOR_K, GELLED, 1.0 / 6.0)
    fine.take(Node.LAMINATE, 5.0 * KEPT, COLD, FLOOR_K, GELLED, 1.0 / 6.0)
    assert float(lit.log_likelihood()[0]) < float(fine.log_likelihood()[0])
    before = float(lit.log_likelihood()[0])
    lit.take(Node.LAMINATE, 25.0, COLD, FLOOR_K, GELLED, 1.0 / 6.0)
    assert float(lit.log_likelihood()[0]) < before - 2.0


COUPLES = ("part1", "part2", "mould", "shop")
UNMARKED = Draw(couples=COUPLES, lamp="unmarked", every_s=30.0, until_gels=1.7)
"""A lamp for a quarter of an hour to an hour, in one of these from before the gel until after."""
SOON = replace(
    UNMARKED, lamp_from_h=(0.2, 0.2), lamp_for_s=(900.0, 1200.0), lamp_w_per_m2=(150.0, 250.0)
)
"""On and off again well before the gel."""


@pytest.mark.campaign
@pytest.mark.parametrize(
    ("draw", "law", "seed"), [(UNMARKED, "trapped", 2), (SOON, "kamal", 2), (SOON, "ceiling", 4)]
)
def test_the_kick_after_a_lamp_is_placed_where_it_was(draw: Draw, law: str, seed: int) -> None:
    told = story(draw, law, [77, seed])
    _, said, _ = watched(told)
    found = score(told, said)
    assert found.gel_held
    assert abs(found.gel_error) <= 0.12


@pytest.mark.campaign
def test_a_strong_lamp_is_not_called_a_kick() -> None:
    told = story(SOON, "kamal", [77, 2])
    _, said, _ = watched(told)
    kicks = [e.time_s for e in said if isinstance(e, CureMoved) and e.state is CureState.KICKED]
    assert kicks
    assert kicks[0] >= told.course.gel_s + BEFORE_S
