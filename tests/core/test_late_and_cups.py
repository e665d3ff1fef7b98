"""Late is said once, a kick after it is a late kick, and a hot cup is a notice of its own."""

from __future__ import annotations

from dataclasses import replace
from itertools import product

import pytest

from firmware_host.config.load import parse_job
from firmware_host.core.alarm_board import AlarmBoard
from firmware_host.core.bag_watch import BagWatch
from firmware_host.core.cure_state import ONWARD, CureStateWatch, Seen
from firmware_host.core.cure_watch import CureWatch
from firmware_host.core.job_state import JobState
from firmware_host.core.rules import Rules
from firmware_host.cure.states import AFTER_KICK
from firmware_host.model.channels import Role
from firmware_host.model.events import AlarmState, CureState
from firmware_host.model.samples import Mark
from tests.core.story import JOB, Told
from tests.cure.test_states import COOLED, CURED, DEAD, GELLED, KICKED, LATE, SEEN, WAITING

ACTIVE, RETURNED = AlarmState.ACTIVE, AlarmState.RETURNED


class Believing(CureWatch):
    """A follower whose chance is set by hand."""

    chance = 0.0

    @property
    def gel_past(self) -> float | None:
        return self.chance


def test_late_is_said_once_however_often_the_chance_crosses_a_half() -> None:
    job = parse_job(JOB, "job.toml")
    cure = Believing(job, (Role.PART, Role.SHOP))
    bag, board = BagWatch(15000.0, 3.3), AlarmBoard()
    state = JobState(job, bag, cure)
    rules = Rules(job, bag, cure, state, board)
    state.mark(Mark(0.0, "mixed", 0.0, ""), 0.0)
    cure.latest_gel_s = 3600.0
    said = []
    for second, chance in enumerate((0.4, 0.62, 0.45, 0.94, 0.3, 0.97, 0.4, 0.2)):
        cure.chance = chance
        said += rules.each_second(3600.0 + second, bag_known=False)
    assert [(e.name, e.state, e.time_s) for e in said] == [
        ("exotherm_late", ACTIVE, 3600.0),
        ("exotherm_late", RETURNED, 3605.0),
    ]


def test_likely_gelled_is_not_yet_a_kick_and_a_late_one_stays_late_until_it_comes() -> None:
    watch = CureStateWatch()
    states = []
    for seen in (LATE, replace(LATE, outlook=replace(WAITING, gel_past=0.6)), KICKED):
        watch.look(seen)
        states.append((watch.state, watch.kicked_late))
    assert states == [
        (CureState.LATE, False),
        (CureState.LATE, False),
        (CureState.KICKED, True),
    ]


def test_a_late_part_whose_couples_come_and_go_is_still_late() -> None:
    watch = CureStateWatch()
    for seen in (LATE, replace(LATE, witnessed=False), replace(LATE, time_s=8000.0)):
        watch.look(seen)
    assert watch.state is CureState.LATE


@pytest.mark.parametrize("before", [KICKED, COOLED])
def test_once_the_vacuum_is_off_a_kicked_part_goes_only_onward(before: Seen) -> None:
    order = (CureState.KICKED, CureState.COOLING, CureState.MAY_REST, CureState.MAY_PULL)
    looks = [SEEN, KICKED, COOLED, DEAD, replace(KICKED, witnessed=False)]
    looks += [replace(SEEN, outlook=GELLED), replace(COOLED, outlook=CURED, time_s=30000.0)]
    for first, second, third in product(looks, repeat=3):
        watch = CureStateWatch()
        watch.look(before)
        reached = order.index(watch.state)
        for number, seen in enumerate((first, second, third)):
            later = replace(seen, released=True, time_s=seen.time_s + 3000.0 * number)
            watch.look(later)
            assert watch.state in AFTER_KICK
            assert order.index(watch.state) >= reached
            reached = order.index(watch.state)
    assert ONWARD


@pytest.mark.parametrize(("cup_c", "hot"), [(100.0, False), (101.0, True)])
def test_left_over_resin_above_100_c_is_a_notice_that_names_the_cup(
    cup_c: float, *, hot: bool
) -> None:
    told = Told(others=("cup",))
    told.pull_down()
    while told.others["cup"] < cup_c + 273.15:
        told.others["cup"] = min(told.others["cup"] + 0.5, cup_c + 273.15)
        told.wait(1.0)
    told.wait(30.0)
    assert [(e.channel, e.priority) for e in told.raised("cup_hot")] == [("cup", "low")] * hot
    assert told.raised("over_temperature") == []


def test_a_cup_that_has_cooled_ends_its_notice() -> None:
    told = Told(others=("cup",))
    told.pull_down()
    for to_k in (393.15, 345.15, 325.15):
        while abs(told.others["cup"] - to_k) > 0.4:
            told.others["cup"] += 0.5 if told.others["cup"] < to_k else -0.5
            told.wait(1.0)
    told.wait(120.0)
    assert [e.state for e in told.changes("cup_hot")] == [ACTIVE, RETURNED]
