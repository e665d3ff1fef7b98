from __future__ import annotations

import logging
import os
import sys
import threading
from collections.abc import Sequence
from pathlib import Path

import pytest

from firmware_host.model.events import MarkTaken, Phase, PhaseEntered
from firmware_host.outputs.report_child import (
    NICENESS,
    ReportChild,
    report_command,
    run_lowered,
)

PATIENCE_S = 30.0


def entered(phase: Phase) -> PhaseEntered:
    return PhaseEntered(time_s=9.0, phase=phase, since_s=9.0)


class Runs:
    """Notes what it was asked to run."""

    def __init__(self, code: int = 0, error: OSError | None = None) -> None:
        self.commands: list[list[str]] = []
        self.go = threading.Event()
        self.go.set()
        self._code, self._error = code, error

    def __call__(self, command: Sequence[str]) -> int:
        assert self.go.wait(PATIENCE_S)
        self.commands.append(list(command))
        if self._error is not None:
            raise self._error
        return self._code


@pytest.mark.parametrize("phase", [Phase.CLOSED, Phase.ABANDONED])
def test_a_job_that_ends_has_its_page_made(tmp_path: Path, phase: Phase) -> None:
    runs = Runs()
    child = ReportChild(tmp_path, runs)
    child.tell([MarkTaken(time_s=9.0, name="x", at_s=9.0, taken=True, text=""), entered(phase)])
    child.join(PATIENCE_S)
    assert runs.commands == [
        [sys.executable, "-m", "firmware_host", "report", "--wait-s", "60", "--", str(tmp_path)]
    ]


@pytest.mark.parametrize("phase", [p for p in Phase if p not in (Phase.CLOSED, Phase.ABANDONED)])
def test_no_page_is_made_before_the_end(tmp_path: Path, phase: Phase) -> None:
    runs = Runs()
    child = ReportChild(tmp_path, runs)
    child.tell([entered(phase)])
    child.join(PATIENCE_S)
    assert runs.commands == []


def test_the_core_is_not_kept_waiting(tmp_path: Path) -> None:
    runs = Runs()
    runs.go.clear()
    child = ReportChild(tmp_path, runs)
    child.tell([entered(Phase.CLOSED)])  # returns although the child cannot end
    assert runs.commands == []
    runs.go.set()
    child.join(PATIENCE_S)
    assert len(runs.commands) == 1


@pytest.mark.parametrize(
    ("runs", "said"),
    [
        (Runs(code=1), "the report was not made (exit code 1)"),
        (Runs(error=OSError("no room")), "the report could not be started: no room"),
    ],
)
def test_a_page_that_was_not_made_is_said(
    tmp_path: Path, caplog: pytest.LogCaptureFixture, runs: Runs, said: str
) -> None:
    caplog.set_level(logging.WARNING)
    child = ReportChild(tmp_path, runs)
    child.tell([entered(Phase.CLOSED)])
    child.join(PATIENCE_S)
    assert said in caplog.text


def test_the_child_runs_below_the_daemon_and_gives_its_exit_code() -> None:
    wait = "import os, sys, time\nfor _ in range(200):\n    time.sleep(0.01)\n    "
    ask = "n = os.getpriority(os.PRIO_PROCESS, 0)\n    if n == int(sys.argv[1]): sys.exit(7)\n"
    lowest = max(NICENESS, os.getpriority(os.PRIO_PROCESS, 0))
    assert run_lowered([sys.executable, "-c", wait + ask, str(lowest)]) == 7


def test_a_folder_whose_name_looks_like_an_option_is_still_a_folder() -> None:
    assert report_command(Path("--pdf"))[-2:] == ["--", "--pdf"]
