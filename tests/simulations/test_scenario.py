from pathlib import Path

import pytest

from firmware_host.config.load import load_job, parse_bench
from simulations.events import LeakOpens
from simulations.faults import Fault, FaultKind
from simulations.files import bench_toml, job_toml
from simulations.scenario import SHIPPED, Scenario, load, parse, shipped_names
from simulations.tables import ScenarioError

HEAD = """
[scenario]
name = "try"
seed = 3
about = "A try."
length_s = 600.0
job = "hatch-cover"
"""


def read(text: str) -> Scenario:
    return parse(HEAD + text, "try.toml", SHIPPED)


def problems_of(text: str) -> tuple[str, ...]:
    with pytest.raises(ScenarioError) as caught:
        parse(text, "try.toml", SHIPPED)
    return caught.value.problems


def test_a_scenario_says_what_opens_when() -> None:
    scenario = read('[[event]]\nat_s = 60.0\ndo = "leak_opens"\npa_per_s = 13.2\n')
    assert scenario.events[0].at_s == 60.0
    assert scenario.events[0].event == LeakOpens(pa_per_s=13.2)


def test_events_are_put_in_order_of_time() -> None:
    scenario = read(
        '[[event]]\nat_s = 60.0\ndo = "pump_on"\n[[event]]\nat_s = 5.0\ndo = "bag_closed"\n'
    )
    assert [planned.name for planned in scenario.events] == ["bag_closed", "pump_on"]


def test_the_plant_takes_what_is_overridden_and_keeps_the_rest() -> None:
    scenario = read("[plant.bag]\nfree_volume_l = 5.0\n")
    assert scenario.plant.bag.free_volume_l == 5.0
    assert scenario.plant.bag.warm_share == 0.25


def test_a_fault_event_gets_an_end() -> None:
    scenario = read(
        '[[event]]\nat_s = 60.0\ndo = "fault"\nchannel = "cup"\nkind = "open"\nfor_s = 20.0\n'
    )
    assert scenario.faults() == (
        Fault(channel="cup", kind=FaultKind.OPEN, start_s=60.0, end_s=80.0),
    )


def test_all_problems_are_told_at_once() -> None:
    text = HEAD + (
        "[plant.bag]\nfree_volume_litre = 3.0\n"
        "[plant.pmp]\nspeed_m3_per_h = 1.0\n"
        "[plant.shop]\ntemperature_c = 300.0\n"
        '[sensors]\ngauge_noise_pa = "much"\n'
        '[[event]]\nat_s = 10.0\ndo = "leak_open"\n'
        '[[event]]\nat_s = 700.0\ndo = "pump_on"\n'
        '[[event]]\nat_s = 10.0\ndo = "leak_opens"\n'
        '[[event]]\nat_s = 10.0\ndo = "fault"\nchannel = "part9"\nkind = "swapped"\n'
        '[[mark]]\nat_s = 10.0\nname = "mixd"\n'
    )
    assert problems_of(text) == (
        "try.toml: [plant.bag] has no option 'free_volume_litre'. Did you mean 'free_volume_l'?",
        "try.toml: no table [plant.pmp]. Did you mean 'pump'?",
        "try.toml: [plant.shop] temperature_c = 300.0: expected `float` <= 50.0",
        "try.toml: [sensors] gauge_noise_pa = 'much': expected `float`, got `str`",
        "try.toml: [[event]] 1 do = 'leak_open' is no event. Did you mean 'leak_opens'?",
        "try.toml: [[event]] 3 leak_opens: needs pa_per_s",
        "try.toml: [[event]] 4 fault: no channel 'part9'. Did you mean 'part2'?",
        "try.toml: [[event]] 4 fault: `other` names the partner of kind 'swapped', and of it only",
        "try.toml: [[mark]] 1 name = 'mixd' is no mark. Did you mean 'mixed'?",
        "try.toml: pump_on at_s = 700 lies beyond length_s = 600",
    )


def test_a_missing_head_is_told_key_by_key() -> None:
    assert problems_of("") == tuple(
        f"try.toml: [scenario] needs {key}" for key in ("name", "seed", "about", "length_s", "job")
    )


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("[scenario", "not TOML"),
        (HEAD + "[weather]\nrain = true\n", r"no table \[weather\]"),
        ("event = 3\n" + HEAD, r"event must be tables \[\[event\]\]"),
        ("sensors = 3\n" + HEAD, r"sensors must be a table \[sensors\]"),
        (HEAD + "[plant]\nbag = 3\n", r"\[plant\] bag must be a table \[plant.bag\]"),
        (HEAD.replace("hatch-cover", "no-such-job"), "no file jobs/no-such-job.toml beside it"),
    ],
)
def test_what_is_wrong_is_named(text: str, message: str) -> None:
    with pytest.raises(ScenarioError, match=message):
        parse(text, "try.toml", SHIPPED)


def test_an_unknown_name_is_answered_with_the_nearest() -> None:
    with pytest.raises(ScenarioError, match="no scenario 'helthy'. Did you mean 'healthy'?"):
        load("helthy")


def test_a_file_that_is_not_there_is_named(tmp_path: Path) -> None:
    with pytest.raises(ScenarioError, match=r"nowhere.toml cannot be read"):
        load(str(tmp_path / "nowhere.toml"))


@pytest.mark.parametrize("name", shipped_names())
def test_every_shipped_scenario_has_a_job_and_a_bench_that_the_daemon_accepts(
    name: str, tmp_path: Path
) -> None:
    scenario = load(name)
    assert scenario.head.name == name
    job = tmp_path / "job.toml"
    job.write_text(job_toml(scenario), encoding="utf-8")
    # Nominal and true batch differ: no estimator is handed the answer.
    assert load_job(job).resin.induction_min_at_25c != scenario.plant.resin.clock_min_at_25c
    text = bench_toml(scenario, tmp_path / 'bo"ard', tmp_path / "jobs", tmp_path / "vigil.sock")
    bench = parse_bench(text, "bench.toml")
    assert bench.port[0].device == str(tmp_path / 'bo"ard')
    assert [channel.name for channel in bench.channel] == [
        "bag", "pump", "part1", "part2", "mould", "shop", "cup",
    ]  # fmt: skip
