"""Kicks that die, skins too thin to see, and those that only look like either."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from firmware_host.core.cure_watch import CureWatch
from firmware_host.model.channels import Role
from firmware_host.model.events import CureState
from tests.bench.cure_strangers import CELLS, LEARNT, known
from tests.cure.foreign import KEPT_S, Truth, change, shop_at
from tests.cure.foreign_jobs import Draw, Family, family, follow
from tests.cure.jobs import job_of
from tests.cure.unlike_jobs import story, watched

SEED = 11


@pytest.fixture(scope="module")
def usual() -> Family:
    return family(Draw(count=4, cup=False), SEED)


def test_the_foreign_batches_agree_with_an_adaptive_integrator(usual: Family) -> None:
    """scipy's LSODA on one batch, through the gel and half an hour of its kick."""
    course = usual.course
    # Without its cup, whose clock comes to a stop in the heat, where the adaptive rule chatters.
    one = replace(single(usual.truth, 0), cup_loss_w_per_k=np.full(1, 20.0))
    start_k = float(shop_at(one, 0.0)[0])
    until_s = float(course.gel_s[0]) + 1800.0

    def slope(time_s: float, state: np.ndarray[tuple[int], np.dtype[np.float64]]) -> list[float]:
        return [float(v) for v in change(one, time_s, state[:, None])[:, 0]]

    exact = solve_ivp(
        slope, (0.0, until_s), [0.0, 0.0, start_k, start_k, 0.0, 0.0, start_k],
        method="LSODA", rtol=1e-7, atol=1e-9, max_step=60.0,
    ).y[:, -1]  # fmt: skip
    at = round(until_s / KEPT_S)
    conversion = np.interp(until_s, course.time_s, course.conversion[:, 0])
    assert conversion == pytest.approx(exact[1], abs=0.003)
    assert course.laminate_k[at, 0] == pytest.approx(exact[2], abs=0.3)


def single(truth: Truth, index: int) -> Truth:
    columns = {
        name: getattr(truth, name)[index : index + 1]
        for name in Truth.__dataclass_fields__
        if name != "gel_conversion"
    }
    return replace(truth, **columns)


def test_healthy_batches_kick_and_none_is_said_to_have_died(usual: Family) -> None:
    for index in range(2):
        states = follow(usual, index).states
        assert CureState.KICKED in states
        assert CureState.DIED not in states


def test_batches_whose_kick_dies_are_said_to_have_died() -> None:
    died = family(Draw(count=4, cup=False, dies=True, thickness_mm=(4.0, 6.0)), SEED)
    found = [CureState.DIED in follow(died, index).states for index in range(3)]
    assert sum(found) >= 2


def waiting(roles: tuple[Role, ...], thickness_mm: float) -> CureState:
    job = job_of()
    laminate = replace(job.laminate, thickness_mm=thickness_mm, mould_heat_kj_per_m2k=44.4)
    watch = CureWatch(replace(job, laminate=laminate), roles)
    temps = (293.15,) * len(roles)
    for number in range(1, 80):
        watch.block(number * 5.0, temps)
        if number == 70:
            watch.begin(350.0, 350.0, provisional=False)
    return watch.state


def test_a_thin_skin_on_plaster_cannot_be_seen_and_a_cup_helps() -> None:
    assert waiting((Role.PART, Role.SHOP), 1.0) is CureState.NOT_OBSERVABLE
    assert waiting((Role.PART, Role.SHOP, Role.CUP), 1.0) is CureState.WAITING
    assert waiting((Role.PART, Role.SHOP), 4.0) is CureState.WAITING


@pytest.mark.parametrize(("law", "number"), [("retarded", 71), ("ceiling", 62)])
def test_a_cold_part_that_kicks_in_half_its_time_is_not_called_dead(law: str, number: int) -> None:
    # A lamp and a kick that died would explain it as well as a kick that came so early.
    told = story(known(CELLS["cold"], LEARNT), law, [1000 + list(CELLS).index("cold"), number])
    _, _, states = watched(told)
    assert CureState.KICKED in states
    assert CureState.DIED not in states


@pytest.mark.parametrize(("law", "number"), [("kamal", 1), ("retarded", 2), ("ceiling", 3)])
def test_a_kick_that_died_is_said_to_be_as_far_as_it_came(law: str, number: int) -> None:
    told = story(known(CELLS["died"], LEARNT), law, [SEED, number])
    watch, _, states = watched(told, frozenset({CureState.MAY_REST}))
    assert CureState.DIED in states
    assert watch.outlook is not None
    low, mean, high = watch.outlook.conversion
    end = float(told.course.conversion[-1])
    # Members that stop at leisure creep on: 0.06 to 0.10 too far on each of these.
    assert mean == pytest.approx(end, abs=0.05)
    assert low <= end <= high
