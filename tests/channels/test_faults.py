"""Each fault on a whole job: found in its time, naming its channel and nothing else."""

from __future__ import annotations

from itertools import combinations

import pytest

from tests.channels.bench import (
    NAMES,
    PERIOD_S,
    Shop,
    Twist,
    accused,
    after,
    detached,
    drifting,
    noisy,
    open_lead,
    process_alarms,
    reversed_lead,
    silent,
    spikes,
    stuck_at,
)

pytestmark = pytest.mark.campaign

BLANK_S = 10.0 * PERIOD_S + 2.0
WARM_S = 5400.0 - 900.0 * 1.6
"""The bell passes 3 K here: the first event that a couple must follow."""


@pytest.mark.parametrize("seed", range(4))
def test_a_healthy_job_accuses_no_channel_and_alarms_nobody(seed: int) -> None:
    events = Shop(seed=seed, until_s=9000.0).events()
    assert accused(events) == {}
    assert process_alarms(events) == []


@pytest.mark.parametrize("name", NAMES)
def test_silence_is_named_in_ten_periods(name: str) -> None:
    events = Shop(twists={name: after(2600.0, silent)}).events()
    assert list(accused(events)) == [name]
    assert accused(events)[name] <= 2600.0 + BLANK_S
    assert process_alarms(events) == []


@pytest.mark.parametrize("name", NAMES)
def test_an_open_lead_is_named_within_three_seconds_of_its_second_word(name: str) -> None:
    events = Shop(twists={name: after(2600.0, open_lead)}).events()
    assert list(accused(events)) == [name]
    assert accused(events)[name] <= 2600.0 + 2.0 * PERIOD_S
    assert process_alarms(events) == []


@pytest.mark.parametrize("name", ["bag", "pump"])
def test_a_stuck_gauge_is_named_by_its_own_noise(name: str) -> None:
    events = Shop(twists={name: after(2600.0, stuck_at())}).events()
    assert list(accused(events)) == [name]
    assert accused(events)[name] <= 2600.0 + 240.0
    assert process_alarms(events) == []


@pytest.mark.parametrize("name", ["part1", "part2", "mould"])
@pytest.mark.parametrize("lie", [detached, stuck_at(), reversed_lead], ids=["off", "stuck", "rev"])
def test_a_couple_that_does_not_warm_with_the_others_is_named_on_the_first_warmth(
    name: str, lie: Twist
) -> None:
    events = Shop(twists={name: after(2600.0, lie)}).events()
    assert list(accused(events)) == [name]
    assert accused(events)[name] <= WARM_S + 400.0
    assert process_alarms(events) == []


@pytest.mark.parametrize("name", ["part1", "part2", "mould"])
def test_a_couple_that_comes_off_hot_is_named_in_two_minutes(name: str) -> None:
    events = Shop(twists={name: after(5400.0, detached)}).events()
    assert list(accused(events)) == [name]
    assert accused(events)[name] <= 5400.0 + 120.0
    assert process_alarms(events) == []


@pytest.mark.parametrize("name", NAMES)
def test_spikes_are_named_and_raise_no_alarm_about_the_part(name: str) -> None:
    events = Shop(seed=3, twists={name: after(2600.0, spikes)}).events()
    assert list(accused(events)) == [name]
    assert process_alarms(events) == []


@pytest.mark.parametrize("name", ["part1", "mould"])
def test_a_couple_that_walks_off_alone_is_named(name: str) -> None:
    events = Shop(twists={name: after(600.0, drifting(8.0, 600.0))}).events()
    assert list(accused(events)) == [name]
    assert accused(events)[name] <= 600.0 + 3.5 / 8.0 * 3600.0 + 400.0


@pytest.mark.parametrize("name", NAMES)
def test_noise_alone_is_no_fault(name: str) -> None:
    events = Shop(seed=5, twists={name: after(2600.0, noisy)}).events()
    assert accused(events) == {}
    assert process_alarms(events) == []


def lies() -> dict[str, Twist]:
    """One for each channel; a stuck gauge holds what this run has shown."""
    return {
        "bag": after(2600.0, silent),
        "pump": after(2700.0, stuck_at()),
        "part1": after(2650.0, open_lead),
        "part2": after(5400.0, detached),
        "shop": after(2620.0, silent),
        "cup": after(2600.0, spikes),
    }


PAIRS = tuple(combinations(lies(), 2))
BLIND = {"part2", "shop"}
"""A couple that came off reads the shop, which nobody reads then."""


@pytest.mark.parametrize("pair", PAIRS, ids="-".join)
def test_two_faults_at_once_are_both_named_and_nothing_else(pair: tuple[str, str]) -> None:
    twists = {name: lie for name, lie in lies().items() if name in pair}
    found = set(accused(Shop(seed=PAIRS.index(pair), twists=twists).events()))
    assert found <= set(pair)
    assert found == set(pair) or set(pair) == BLIND
