"""The screen as text, and the command line around it."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest

from dashboard.once import as_text
from dashboard.picture import ours_alone
from firmware_host.model.events import AlarmState, Phase
from tests.dashboard.parts import KICKED_CURE, LOST, SNAPSHOT, TEST, TREND, snapshot
from tests.dashboard.test_client import Bench

GOLDEN = """\
 kayak hatch cover   cooling  10 min   mixed 1 h 56 min ago               10:01
 !! 1 alarm not seen: vacuum lost
  laminate, degC                          since the gel, h:min
  ######  ######      ######              ######        ##    ######
      ##  ##          ##  ##              ##  ##  ##  ####    ##
  ######  ######      ##  ##              ##  ##        ##    ######
  ##          ##      ##  ##              ##  ##  ##    ##        ##
  ######  ######  ##  ######              ######      ######  ######
  below 90 as wanted, 5.0 K over shop     gel between 08:50 and 09:20
 !! vacuum lost   high   gone again, not seen   since 08:28, 1 h 33 min
    Bag above 150 mbar for 2 min. The resin has not kicked: vacuum still
    matters.
 do Nothing now: its cause is gone. It waits to be seen.

 bag, mbar, wanted below 150             laminate, C, wanted below 90
"""


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[Bench]:
    made = Bench(tmp_path / "bench.sock")
    yield made
    made.server.close()


def panel(*arguments: str, **environment: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "dashboard", *arguments],
        capture_output=True,
        encoding="utf-8",
        env={**os.environ, "PYTHONUTF8": "1", **environment},
        timeout=60,
        check=False,
    )


def test_the_whole_screen_as_text_with_alarm_and_trends() -> None:
    gone = replace(LOST, state=AlarmState.RETURNED)
    said = snapshot(
        Phase.COOLING,
        time_s=7260.0,
        phase_since_s=6660.0,
        cure=replace(KICKED_CURE, gel_s=6360.0),
        alarms=(gone,),
        drop_test=TEST,
    )
    text = as_text(said, TREND, ascii_only=True)
    assert text.startswith(GOLDEN)
    assert text.endswith(
        "   0 [..===o====....|.............] 6.6   | limit 3.3 Pa/s, 1 inHg in 5 min\n"
        " unpumped    not known\n"
        " resin       kicked   gelled 08:50 to 09:20   conversion 42% (30% to 55%)\n"
        " bag         49 mbar part1     25.0 C    part2 !! open       shop      20.0 C\n"
        " board answers   recording   no gaps   no broker                    north-bench\n"
    )
    assert text.isascii()
    assert max(map(len, text.split("\n"))) <= 80


def test_without_a_trend_the_numbers_of_now_are_still_there() -> None:
    text = as_text(SNAPSHOT, None)
    assert " no alarm\n" in text
    assert "wanted below 90\n" not in text


def test_once_prints_the_screen_and_leaves(bench: Bench, tmp_path: Path) -> None:
    bench.publish(1)
    done = panel("--socket", str(tmp_path / "bench.sock"), "--once")
    assert (done.returncode, done.stderr) == (0, "")
    assert done.stdout == as_text(SNAPSHOT, TREND)


def test_the_command_runs_the_panel_as_a_process_of_its_own(bench: Bench, tmp_path: Path) -> None:
    bench.publish(1)
    done = subprocess.run(
        [sys.executable, "-m", "firmware_host", "panel", "--once", "--ascii", "--socket"]
        + [str(tmp_path / "bench.sock")],
        capture_output=True,
        encoding="utf-8",
        timeout=60,
        check=False,
    )
    assert (done.returncode, done.stderr) == (0, "")
    assert done.stdout == as_text(SNAPSHOT, TREND, ascii_only=True)


def test_once_into_a_pipe_that_is_not_utf_8_is_seven_bit(bench: Bench, tmp_path: Path) -> None:
    bench.publish(1)
    done = panel(
        "--socket", str(tmp_path / "bench.sock"), "--once", PYTHONUTF8="0", PYTHONIOENCODING="ascii"
    )
    assert (done.returncode, done.stderr) == (0, "")
    assert done.stdout == as_text(SNAPSHOT, TREND, ascii_only=True)


def test_nobody_listening_is_exit_code_3_with_the_next_step(tmp_path: Path) -> None:
    path = tmp_path / "none.sock"
    for arguments in (["--once"], ["--svg", str(tmp_path / "x.svg")]):
        done = panel("--socket", str(path), *arguments)
        assert done.returncode == 3
        assert done.stderr == (
            f"no bagvigil answers at {path} (No such file or directory). "
            "Start bagvigil watch, or name its socket.\n"
        )


def test_a_terminal_that_cannot_draw_is_refused_and_pointed_to_once(tmp_path: Path) -> None:
    done = panel("--socket", str(tmp_path / "x.sock"), TERM="dumb")
    assert (done.returncode, done.stdout) == (2, "")
    assert "Ask for text with --once." in done.stderr


def test_the_picture_shows_the_screen_and_needs_nothing_from_outside(
    bench: Bench, tmp_path: Path
) -> None:
    bench.publish(1)
    file = tmp_path / "panel.svg"
    done = panel("--socket", str(tmp_path / "bench.sock"), "--svg", str(file))
    assert (done.returncode, done.stderr) == (0, "")
    svg = file.read_text(encoding="utf-8")
    assert "kayak&#160;hatch&#160;cover" in svg
    assert "08:01" in svg
    assert svg.replace("http://www.w3.org/2000/svg", "").count("http") == 0


def test_fonts_and_comments_that_point_outside_are_stripped() -> None:
    svg = "<!-- https://a -->\n<style>@font-face {\n src: url('https://b');\n}\n.c { }</style>"
    assert ours_alone(svg) == "<style>.c { }</style>"


def test_a_windows_buttons_are_stripped_and_other_groups_stay() -> None:
    buttons = '<g transform="x">\n <circle r="7"/>\n <circle r="7"/>\n</g>\n'
    assert ours_alone(f"{buttons}<g><text>a</text></g>") == "<g><text>a</text></g>"
