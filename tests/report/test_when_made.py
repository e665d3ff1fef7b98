"""When the daemon has the page made: told by the core's own events, once for each job."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from firmware_host.core.job_state import CLOSED_AFTER_RELEASE_S
from firmware_host.model.samples import Tick, Unseen
from firmware_host.outputs.report_child import ReportChild, report_command
from tests.core.story import Told

PATIENCE_S = 30.0


class Daemon:
    """A core whose events are told to what starts the report, as the loop does."""

    def __init__(self, folder: Path) -> None:
        self.told = Told()
        self.made: list[list[str]] = []
        self._child = ReportChild(folder, self._run)
        self._heard = 0

    def pages(self) -> int:
        """Tell everything new, and count the pages so far."""
        self._child.tell(self.told.events[self._heard :])
        self._heard = len(self.told.events)
        self._child.join(PATIENCE_S)
        return len(self.made)

    def _run(self, command: Sequence[str]) -> int:
        self.made.append(list(command))
        return 0


def released(folder: Path) -> Daemon:
    daemon = Daemon(folder)
    daemon.told.pull_down()
    daemon.told.mark("gel_seen")
    daemon.told.mark("vacuum_released")
    assert daemon.pages() == 0
    return daemon


def test_the_page_is_made_when_the_part_is_off_the_form(tmp_path: Path) -> None:
    daemon = released(tmp_path)
    daemon.told.mark("demoulded")
    assert daemon.pages() == 1
    assert daemon.made == [report_command(tmp_path)]
    daemon.told.wait(5.0)
    assert daemon.pages() == 1


def test_the_page_is_made_when_the_job_is_given_up(tmp_path: Path) -> None:
    daemon = Daemon(tmp_path)
    daemon.told.pull_down()
    assert daemon.pages() == 0
    daemon.told.mark("abandoned", note="the bag tore")
    assert daemon.pages() == 1


def test_the_page_is_made_twelve_hours_after_the_release_and_not_before(tmp_path: Path) -> None:
    daemon = released(tmp_path)
    told = daemon.told
    released_s, told.now_s = told.now_s, told.now_s + CLOSED_AFTER_RELEASE_S - 2.0
    told.step(Unseen(told.now_s, released_s, "the board was off"))
    told.step(Tick(told.now_s + 1.0))
    assert daemon.pages() == 0
    told.step(Tick(told.now_s + 2.0))
    assert daemon.pages() == 1
