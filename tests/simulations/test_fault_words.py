"""Faults as words: what a bench can have is read, what it cannot have is refused in a sentence."""

import itertools
from pathlib import Path

import pytest

from simulations.__main__ import main
from simulations.fault_checks import problems_with
from simulations.fault_words import help_text, read_fault, with_faults
from simulations.faults import LINE_MEANINGS, MEANINGS, Fault, FaultKind
from simulations.scenario import load, shipped_names
from simulations.sensors import PLACES
from simulations.tables import ScenarioError

pytestmark = pytest.mark.campaign


def test_a_fault_in_words_is_the_fault() -> None:
    assert read_fault("part1 drifting at=4500 for=600 amount=-6") == Fault(
        channel="part1", kind=FaultKind.DRIFTING, start_s=4500.0, end_s=5100.0, amount=-6.0
    )
    assert read_fault("bag swapped other=pump") == Fault(
        channel="bag", kind=FaultKind.SWAPPED, start_s=0.0, other="pump"
    )


@pytest.mark.parametrize(
    ("words", "message"),
    [
        ("part1", r"write CHANNEL KIND \[at=S\]"),
        ("part9 off", "no channel 'part9'. Did you mean 'part"),
        ("bag stuk", "no kind 'stuk'. Did you mean 'stuck'"),
        ("bag stuck at=soon", "at=soon is no number"),
        ("bag stuck at=nan", "at=nan must be 0 or above"),
        ("bag stuck at=-1", "at=-1 must be 0 or above"),
        ("bag stuck for=0", "for=0 must be above 0"),
        ("bag stuck at=1 at=2", "at= is given twice"),
        ("bag stuck form=3", "no option 'form'. Did you mean 'for'"),
        ("bag stuck amount=3", "stuck takes no amount, and 3 was given"),
        ("bag stuck other=pump", "`other` names the partner of kind 'swapped', and of it only"),
        ("bag swapped", "`other` names the partner of kind 'swapped', and of it only"),
        ("bag swapped other=bag", "bag cannot trade places with itself"),
        ("bag swapped other=cup", r"bag \(pressure\) cannot trade places with cup \(temperature\)"),
        ("pump bridged", "pump is a gauge and cannot be bridged"),
        ("cup intermittent amount=1.5", "amount = 1.5 is a share and must be between 0 and 1"),
        ("cup slow amount=0", "slow: amount = 0 must be above 0"),
        ("cup delayed amount=7200", "delayed: amount = 7200 s must be at most 3600 s"),
        ("cup wrong amount=inf", "wrong: amount = inf is no number"),
        ("line stuck", "the line cannot be stuck; it can be off, garbage"),
        ("line noisy amount=2", "amount = 2 is a share"),
    ],
)
def test_what_no_bench_can_have_is_refused(words: str, message: str) -> None:
    with pytest.raises(ScenarioError, match=message) as caught:
        read_fault(words)
    assert len(caught.value.problems) == 1


@pytest.mark.parametrize("name", shipped_names())
def test_any_scenario_takes_any_fault_on_any_channel_at_any_time(name: str) -> None:
    scenario = load(name)
    late_s = min(7000.0, scenario.head.length_s - 60.0)
    for at_s, channel, kind in itertools.product((0, 1234.5, late_s), PLACES, FaultKind):
        alike = {"bag": "pump", "pump": "bag", "cup": "mould"}.get(channel, "cup")
        fault = Fault(
            channel=channel,
            kind=kind,
            start_s=at_s,
            other=alike if kind is FaultKind.SWAPPED else None,
        )
        if problems_with(fault):
            assert (kind, channel) in {(FaultKind.BRIDGED, "bag"), (FaultKind.BRIDGED, "pump")}
            continue
        if (channel, kind) in {(own.channel, own.kind) for own in scenario.faults()}:
            continue  # its own is for good
        other = f" other={alike}" if fault.other else ""
        changed = with_faults(scenario, [f"{channel} {kind} at={at_s} for=60{other}"])
        assert len(changed.faults()) == len(scenario.faults()) + 1


def test_every_problem_of_every_fault_is_told_at_once() -> None:
    with pytest.raises(ScenarioError) as caught:
        with_faults(load("healthy"), ["bag off at=9e9", "cup of", "cup off", "cup off at=60"])
    assert caught.value.problems == (
        "--fault 'bag off at=9e9': at=9e+09 lies beyond the end of healthy at 9600 s",
        "--fault 'cup of': no kind 'of'. Did you mean 'off'?",
        "--fault: cup is off twice, at 0 s and at 60 s. End the first before the second begins",
    )


def test_a_channel_cannot_trade_places_with_two_at_once() -> None:
    with pytest.raises(ScenarioError, match="mould is swapped twice"):
        with_faults(load("healthy"), ["part1 swapped other=mould", "mould swapped other=cup"])


def test_one_fault_may_begin_when_the_other_of_its_kind_ends() -> None:
    changed = with_faults(load("healthy"), ["cup off at=10 for=50", "cup off at=60"])
    assert len(changed.faults()) == 2


def test_the_help_says_what_each_kind_does(capsys: pytest.CaptureFixture[str]) -> None:
    text = help_text()
    assert all(meaning in text for meaning in (*MEANINGS.values(), *LINE_MEANINGS.values()))
    assert set(MEANINGS) == set(FaultKind)
    with pytest.raises(SystemExit):
        main(["--help"])
    assert text in capsys.readouterr().out


def test_the_command_line_breaks_a_channel_of_the_log(tmp_path: Path) -> None:
    log = tmp_path / "log.csv"
    scenario = tmp_path / "short.toml"
    (tmp_path / "jobs").mkdir()
    (tmp_path / "jobs" / "hatch-cover.toml").touch()
    scenario.write_text(
        '[scenario]\nname = "short"\nseed = 1\nabout = "A try."\nlength_s = 60.0\n'
        'job = "hatch-cover"\n',
        encoding="utf-8",
    )
    assert main([str(scenario), "--csv", str(log), "--fault", "cup off at=20 for=20"]) == 0
    cells = [line.split(",")[7] for line in log.read_text(encoding="utf-8").splitlines()[1:]]
    # Rows are a little off their beat of two seconds, so those at either end may be on either side.
    assert cells[11:20] == [""] * 9
    assert all(cells[:10] + cells[21:])


def test_a_fault_of_the_line_is_refused_for_a_log(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["healthy", "--csv", str(tmp_path / "x.csv"), "--fault", "line off"]) == 2
    assert "faults of `line` need --link PATH" in capsys.readouterr().err
