"""The page made by a process of its own when a job ends: the daemon draws nothing itself.

The core's thread only hands the word on; a thread of its own starts the child, lowers it below the
readers, and waits for it. A daemon that stops does not wait: the child goes on alone, and takes
the page into the record itself once nobody writes there.
"""

from __future__ import annotations

import logging
import os
import subprocess
import sys
import threading
from collections.abc import Callable, Sequence
from pathlib import Path

from firmware_host.model.events import Event, Phase, PhaseEntered

NICENESS = 10
STORED_WITHIN_S = 60.0
"""Real time in which the job's end must be on the disk for the child to find it."""
_ENDS = (Phase.CLOSED, Phase.ABANDONED)
"""Off the form, 12 h after release, or given up."""

_LOG = logging.getLogger(__name__)

RunChild = Callable[[Sequence[str]], int]
"""Runs a command line to its end and gives its exit code."""


class ReportChild:
    """Has the page of one job folder made; `tell` belongs to the core's thread."""

    def __init__(self, folder: Path, run: RunChild | None = None) -> None:
        self._folder = folder
        self._run = run or run_lowered
        self._thread: threading.Thread | None = None

    def tell(self, events: Sequence[Event]) -> None:
        """Hear what the core said; never waits."""
        if not any(isinstance(event, PhaseEntered) and event.phase in _ENDS for event in events):
            return
        self._thread = threading.Thread(target=self._make, name="report", daemon=True)
        self._thread.start()

    def join(self, timeout_s: float) -> None:
        """Wait for a page that is being made, so long and no longer."""
        if self._thread is not None:
            self._thread.join(timeout_s)

    def _make(self) -> None:
        command = report_command(self._folder)
        try:
            code = self._run(command)
        except OSError as error:
            _LOG.warning("the report could not be started: %s", error)
            return
        if code == 0:
            _LOG.info("the report is in %s", self._folder)
        else:
            again = f"bagvigil report {self._folder}"
            _LOG.warning("the report was not made (exit code %d). See why with: %s", code, again)


def report_command(folder: Path) -> list[str]:
    """Word the child's command line."""
    name = ["-m", "firmware_host", "report"]
    return [sys.executable, *name, "--wait-s", f"{STORED_WITHIN_S:.0f}", "--", str(folder)]


def run_lowered(command: Sequence[str]) -> int:
    """Run a command below everything that watches, and apart from the daemon's own terminal."""
    with subprocess.Popen(  # noqa: S603 - our own interpreter, arguments as a list
        command,
        stdin=subprocess.DEVNULL,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
        start_new_session=True,
    ) as child:
        try:
            os.setpriority(os.PRIO_PROCESS, child.pid, NICENESS)
        except OSError:
            _LOG.debug("the report's process had ended before it could be lowered")
        return child.wait()
