"""The filter where readings come and go, lie, or contradict each other."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace

import numpy as np
import pytest

from firmware_host.config.schema import JobDescription
from firmware_host.core.cure_state import KICK_SURE
from firmware_host.cure.evidence import LIVING_MEMBERS
from firmware_host.cure.filter import CureFilter
from firmware_host.cure.known import Outlook, Temperatures
from tests.cure.jobs import EPOXY, job_of
from tests.cure.test_independent_batches import BLOCK_S, SHOP_K, batch
from tests.cure.unlike import run
from tests.cure.unlike_jobs import nominal

pytestmark = pytest.mark.campaign

START = Temperatures(
    time_s=0.0,
    laminate_k=SHOP_K,
    stand_in_sd_k=0.0,
    mould_k=SHOP_K,
    shop_k=SHOP_K,
    cup_k=None,
    heated=False,
)


def flat(until_s: float, temp_k: float = SHOP_K) -> Iterator[Temperatures]:
    """Every couple shows the same, from the first block on."""
    for at_s in np.arange(BLOCK_S, until_s, BLOCK_S):
        yield replace(START, time_s=float(at_s), laminate_k=temp_k, mould_k=temp_k, shop_k=temp_k)


def measured(speed: float, until_s: float) -> Iterator[Temperatures]:
    """Show the laminate and mould of an outside integrator's batch."""
    laminate_k, mould_k, _ = batch(speed)
    for number in range(1, int(until_s / BLOCK_S)):
        yield replace(
            START,
            time_s=number * BLOCK_S,
            laminate_k=float(laminate_k[number]),
            mould_k=float(mould_k[number]),
        )


def followed(readings: Iterator[Temperatures], job: JobDescription | None = None) -> CureFilter:
    cure = CureFilter(job or job_of(), 0.0, START)
    for now in readings:
        cure.advance(now)
    return cure


SLOW_S = 20.0


def slow_batch() -> tuple[np.ndarray, np.ndarray, float]:
    course = run(replace(nominal("kamal"), clock_s=5400.0, growth_per_s=3.6e-4), 24000.0, SLOW_S)
    return course.laminate_k, course.mould_k, course.gel_s


def width_s(outlook: Outlook) -> float:
    return outlook.gel_s[2] - outlook.gel_s[0]


def assert_whole(outlook: Outlook) -> None:
    """Finite, in order, and each chance and conversion between 0 and 1."""
    numbers = (outlook.gel_past, outlook.gel_early_s, *outlook.gel_s, *outlook.conversion)
    assert all(map(math.isfinite, numbers))
    assert (outlook.gel_s[0], outlook.gel_early_s, *outlook.gel_s[1:]) == tuple(
        sorted((outlook.gel_early_s, *outlook.gel_s))
    )
    assert [0.0, *outlook.conversion, 1.0] == sorted([0.0, *outlook.conversion, 1.0])
    assert 0.0 <= outlook.gel_past <= 1.0


def test_no_heat_yet_pushes_the_forecast_on() -> None:
    early, waited = (followed(flat(until_s)).outlook() for until_s in (600.0, 5400.0))
    assert waited.gel_s[1] > early.gel_s[1]
    assert waited.gel_s[2] > 5400.0


def test_a_part_on_which_nothing_happens_all_day_never_kicks() -> None:
    """A dose left out: every batch that the file may mean would have gelled, and none did."""
    cure = followed(iter(()))
    for at_s in np.arange(60.0, 12.0 * 3600.0, 60.0):
        cure.advance(replace(START, time_s=float(at_s)))
        if at_s % 600.0 == 0.0:
            assert cure.outlook().gel_past < 0.5
    outlook = cure.outlook()
    assert_whole(outlook)
    assert outlook.clock_past == 1.0
    assert outlook.conversion[2] < 0.1


def test_a_can_three_times_too_slow_is_followed_to_its_late_kick() -> None:
    """No batch that the file may mean is as slow; the outside integrator's is."""
    laminate_k, mould_k, gel_s = slow_batch()
    cure = followed(iter(()))
    for number in range(1, len(laminate_k)):
        at_s = number * SLOW_S
        lam_k, form_k = float(laminate_k[number]), float(mould_k[number])
        cure.advance(replace(START, time_s=at_s, laminate_k=lam_k, mould_k=form_k))
        if at_s < gel_s:
            assert cure.outlook().gel_past < KICK_SURE
    outlook = cure.outlook()
    assert outlook.gel_past > 0.99
    assert outlook.gel_s[1] == pytest.approx(gel_s, rel=0.10)
    assert outlook.gel_s[0] <= gel_s <= outlook.gel_s[2]


def test_gel_seen_eight_minutes_late_is_used() -> None:
    """Where no couple sits on the part, the finger is all that tells."""
    _, _, gel_s = batch(1.0)
    seen_s = gel_s + 480.0
    stand_in = [replace(now, stand_in_sd_k=2.0, mould_k=None) for now in flat(seen_s)]
    blind, told = (followed(iter(stand_in)) for _ in range(2))
    told.gel_seen(seen_s)
    outlook = told.outlook()
    assert outlook.gel_past > 0.99
    assert outlook.gel_s[0] <= gel_s <= outlook.gel_s[2] <= seen_s
    assert width_s(outlook) < 0.6 * width_s(blind.outlook())


def test_gel_seen_against_every_forecast_is_believed_and_gives_whole_answers() -> None:
    cure = followed(flat(300.0))
    cure.gel_seen(300.0)
    outlook = cure.outlook()
    assert_whole(outlook)
    assert outlook.gel_past > 0.99
    assert outlook.gel_s[2] <= 300.0


@pytest.mark.parametrize(("speed", "before_s"), [(1.0, 3000.0), (1.0, 600.0), (1.4, 1800.0)])
def test_an_hour_without_readings_covers_the_gel_wherever_it_lies(
    speed: float, before_s: float
) -> None:
    """A kick that came and went unseen leaves warmth, and no line between the ends shows it."""
    _, _, gel_s = batch(speed)
    from_s = gel_s - before_s
    seen = (now for now in measured(speed, 9000.0) if not from_s < now.time_s < from_s + 3600.0)
    outlook, known = followed(seen).outlook(), followed(measured(speed, 9000.0)).outlook()
    assert_whole(outlook)
    assert outlook.gel_s[0] <= gel_s <= outlook.gel_s[2]
    assert outlook.gel_past > 0.95
    assert width_s(outlook) > width_s(known)


def test_a_day_without_readings_is_crossed_in_bounded_steps() -> None:
    cure = followed(flat(600.0))
    cure.advance(replace(START, time_s=86400.0))
    assert_whole(cure.outlook())
    assert cure.outlook().gel_past > 0.95


def test_without_a_couple_on_the_part_the_answer_is_wide_and_whole() -> None:
    """The shop stands in: the laminate is known to a couple of kelvin, its heat not at all."""
    stand_in = (replace(now, stand_in_sd_k=2.0, mould_k=None) for now in flat(7200.0))
    outlook = followed(stand_in).outlook()
    assert_whole(outlook)
    assert outlook.gel_s[0] <= batch(1.0)[2] <= outlook.gel_s[2]
    assert width_s(outlook) > width_s(followed(measured(1.0, 7200.0)).outlook())


def test_channels_that_come_and_go_never_break_it() -> None:
    rng = np.random.default_rng(5)
    cure = followed(iter(()))
    for now in measured(1.4, 7200.0):
        mould_k = None if rng.random() < 0.3 else now.mould_k
        shop_sd_k = 2.0 if rng.random() < 0.3 else 0.0
        lit = rng.random() < 0.02
        cure.advance(replace(now, mould_k=mould_k, shop_sd_k=shop_sd_k, heated=lit))
        if now.time_s % 600.0 == 0.0:
            assert_whole(cure.outlook())


@pytest.mark.parametrize("temp_c", [-60.0, 5.0, 60.0, 120.0])
@pytest.mark.parametrize("text", ["polyester", "epoxy"])
def test_an_outlook_is_whole_at_any_temperature(temp_c: float, text: str) -> None:
    job = job_of(EPOXY) if text == "epoxy" else job_of()
    assert_whole(followed(iter(()), job).outlook())
    assert_whole(followed(flat(300.0, temp_c + 273.15), job).outlook())


@pytest.mark.timeout(20)
@pytest.mark.parametrize("role", ["laminate_k", "cup_k"])
def test_a_couple_that_lies_hot_costs_no_more_than_the_hottest_laminate(role: str) -> None:
    """At 400 degC a step in proportion to the rate would take the core a minute a block."""
    job = job_of("[cup]\nresin_g = 150.0\n")
    cure = CureFilter(job, 0.0, START)
    for number in range(1, 4):
        lie: dict[str, float] = {role: 673.15, "shop_k": 673.15}
        cure.advance(replace(START, time_s=number * BLOCK_S, **lie))  # type: ignore[arg-type]  # both fields take a float
    assert_whole(cure.outlook())


def test_a_reading_from_the_past_changes_nothing() -> None:
    cure = followed(flat(900.0))
    before = cure.outlook()
    cure.advance(replace(START, time_s=600.0, laminate_k=350.0))
    assert cure.outlook() == before


@pytest.mark.parametrize("speed", [0.7, 1.4])
def test_at_least_thirty_members_stay_alive(speed: float) -> None:
    assert followed(measured(speed, 9000.0)).living_members() >= LIVING_MEMBERS - 0.5


def test_a_pour_whose_moment_is_doubtful_has_a_wider_window() -> None:
    sure, doubtful = (CureFilter(job_of(), 0.0, START, sd_s).outlook() for sd_s in (0.0, 900.0))
    assert doubtful.gel_s[0] < sure.gel_s[0]
    assert width_s(doubtful) > width_s(sure)
