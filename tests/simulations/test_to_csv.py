import io
import json
import subprocess
import sys
from functools import cache
from pathlib import Path

import pytest

from simulations.__main__ import main
from simulations.scenario import SHIPPED, load, parse, shipped_names
from simulations.to_csv import record, write_csv
from simulations.truth import Truth

pytestmark = pytest.mark.campaign

SHORT_S = 6600.0
TEXT = """
[scenario]
name = "try"
seed = 3
about = "A try."
length_s = 400.0
job = "hatch-cover"
[[event]]
at_s = 100.0
do = "unplug"
[[event]]
at_s = 110.0
do = "replug"
[[mark]]
at_s = 50.0
name = "mixed"
[[mark]]
at_s = 50.1
name = "dosed"
"""


def test_a_log_looks_as_the_contract_says() -> None:
    log = record(parse(TEXT, "try.toml", SHIPPED))
    out = io.StringIO()
    write_csv(log, out)
    lines = out.getvalue().splitlines()
    assert lines[0] == (
        "time_s,bag:Pa,pump:Pa,part1:degC,part2:degC,mould:degC,shop:degC,cup:degC,mark"
    )
    assert len(lines) == 1 + 201
    assert lines[1].startswith("0.000,")


def test_rows_are_a_little_off_the_beat_and_never_trade_places() -> None:
    times_s = [float(row[0]) for row in record(parse(TEXT, "try.toml", SHIPPED)).rows]
    gaps_s = [later - earlier for earlier, later in zip(times_s, times_s[1:], strict=False)]
    assert min(gaps_s) > 1.0
    assert max(gaps_s) < 3.0
    assert len(set(gaps_s)) > 50


def test_marks_stand_in_the_first_row_after_them() -> None:
    rows = record(parse(TEXT, "try.toml", SHIPPED)).rows
    marked = [(float(row[0]), row[-1]) for row in rows if row[-1]]
    assert [text for _, text in marked] == ["mixed;dosed"] or [text for _, text in marked] == [
        "mixed",
        "dosed",
    ]
    assert 50.0 <= marked[0][0] < 53.0


def test_cells_are_blank_while_the_cable_is_out() -> None:
    rows = record(parse(TEXT, "try.toml", SHIPPED)).rows
    for row in rows:
        if 100.0 <= float(row[0]) < 110.0:
            assert set(row[1:]) == {""}
    assert sum(cell == "" for row in rows[:49] for cell in row[1:-1]) < 10


@cache
def truth_of(name: str) -> Truth:
    return record(load(name), row_period_s=30.0).truth


def test_a_leak_of_four_times_the_limit_is_in_the_truth_of_its_scenario() -> None:
    rises = [span.leak_rise_pa_per_s for span in truth_of("leak").isolated]
    assert rises == pytest.approx([0.25, 13.2, 0.25], rel=0.02)


def test_a_settling_bag_rises_more_than_the_limit_and_hardly_leaks() -> None:
    (span,) = truth_of("settling").isolated
    assert span.rise_pa_per_s > 3.3
    assert span.leak_rise_pa_per_s < 0.3


def test_the_cold_part_gels_after_its_latest_time() -> None:
    gel_s = truth_of("cold").gel_s
    assert gel_s is not None
    assert (gel_s - 300.0) / 60.0 > 125.0


def test_the_healthy_part_gels_in_its_time_and_stays_below_its_limit() -> None:
    truth = truth_of("healthy")
    assert truth.gel_s is not None
    assert 43.0 < (truth.gel_s - 300.0) / 60.0 < 50.0
    assert truth.hottest_laminate_c < 90.0
    assert 150.0 < truth.hottest_cup_c < 210.0


@pytest.mark.parametrize("name", shipped_names())
def test_the_person_sees_the_gel_late_but_never_early(name: str) -> None:
    truth, scenario = truth_of(name), load(name)
    seen_s = [mark.at_s for mark in scenario.marks if mark.name == "gel_seen"]
    if scenario.head.length_s <= SHORT_S:  # of the bag alone: nobody waits for the resin
        assert seen_s == []
        return
    assert truth.gel_s is not None
    assert [0.0 <= at_s - truth.gel_s <= 600.0 for at_s in seen_s] == [True]


def test_the_command_writes_log_and_truth(tmp_path: Path) -> None:
    source = tmp_path / "try.toml"
    source.write_text(TEXT, encoding="utf-8")
    (tmp_path / "jobs").mkdir()
    (tmp_path / "jobs" / "hatch-cover.toml").write_text("", encoding="utf-8")
    log, truth = tmp_path / "log.csv", tmp_path / "truth.json"
    assert main([str(source), "--csv", str(log), "--truth", str(truth)]) == 0
    assert len(log.read_text().splitlines()) == 202
    assert json.loads(truth.read_text())["scenario"] == "try"


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (["helthy", "--csv", "x"], "Did you mean 'healthy'?"),
        ([], "which scenario?"),
        (["healthy"], "say where to"),
    ],
)
def test_a_wrong_command_line_is_explained(
    arguments: list[str], message: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(arguments) == 2
    assert message in capsys.readouterr().err


def test_the_command_lists_every_scenario(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["--list"]) == 0
    assert "healthy " in capsys.readouterr().out


def test_a_path_that_cannot_be_written_is_named(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["healthy", "--csv", str(tmp_path / "no" / "log.csv")]) == 1
    assert "no/log.csv: No such file or directory" in capsys.readouterr().err


def test_the_command_runs_live_and_reports_marks(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    source = tmp_path / "try.toml"
    source.write_text(TEXT.replace("400.0", "120.0"), encoding="utf-8")
    (tmp_path / "jobs").mkdir()
    (tmp_path / "jobs" / "hatch-cover.toml").write_text("", encoding="utf-8")
    port, bench = tmp_path / "board", tmp_path / "bench.toml"
    live = [str(source), "--link", str(port), "--rate", "1000", "--bench-file", str(bench)]
    assert main(live) == 0
    lines = capsys.readouterr().out.splitlines()
    assert lines[0] == f"device {port}"
    assert {"mark": "mixed", "at_s": 50.0} in [json.loads(line) for line in lines[1:]]
    assert str(port) in bench.read_text()
    assert not port.is_symlink()


def test_a_program_told_to_stop_takes_its_port_away(tmp_path: Path) -> None:
    port = tmp_path / "board"
    command = [sys.executable, "-m", "simulations", "healthy", "--link", str(port)]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as bench:
        assert bench.stdout is not None
        assert bench.stdout.readline() == f"device {port}\n"
        assert port.is_symlink()
        bench.terminate()
        assert bench.wait(10.0) == 0
    assert not port.is_symlink()
