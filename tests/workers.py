"""The whole suite on more than one core: what runs on real time has the first worker to itself.

Tests that wait for real processes, threads and terminals keep off each other's cores: they run one
after the other on the first worker. All others only compute; the other workers take them file by
file, and step back (`NICENESS`) whenever something on real time wants a core. So does the first one
once it has come to the files that only compute.
"""

from __future__ import annotations

import os
from typing import TYPE_CHECKING

from xdist.scheduler import LoadScopeScheduling

if TYPE_CHECKING:
    from xdist.workermanage import WorkerController

REAL_TIME = (
    "tests/bench/test_bench_sample.py",
    "tests/commands/test_check.py",
    "tests/commands/test_stopped.py",
    "tests/dashboard/test_client.py",
    "tests/dashboard/test_once.py",
    "tests/dashboard/test_terminal.py",
    "tests/inputs/",
    "tests/outputs/test_mqtt_",
    "tests/outputs/test_record.py",
    "tests/outputs/test_record_resume.py",
    "tests/outputs/test_report_child.py",
    "tests/outputs/test_se",
    "tests/outputs/test_si",
    "tests/outputs/test_so",
    "tests/outputs/test_st",
    "tests/simulations/test_link.py",
    "tests/system/",
    "tests/test_loop",
)
"""Beginnings of the paths of tests that look at a clock which nobody turns by hand."""
LONGEST = (
    "tests/channels/test_faults.py",
    "tests/commands/test_replay.py",
    "tests/cure/test_died_and_thin.py",
    "tests/dashboard/test_hostile.py",
    "tests/logs/test_six_jobs.py",
    "tests/outputs/test_record_export.py",
    "tests/simulations/test_signatures.py",
)
"""Files that compute for half a minute or more: none of them should be what is left at the end."""
MOST_WORKERS = 4
NICENESS = 7
"""A sixth of a core, where others want all of it: enough not to stand still."""
PATIENCE_S = 1200
"""What a test that only computes may take then; nothing hangs in it."""


def is_on_real_time(node: str) -> bool:
    """Whether the test of this node id needs the machine's clock, or measures by it."""
    return node.startswith(REAL_TIME)


def turn(node: str) -> int:
    """Say when a test's turn comes: first what waits, then the long files, then all others."""
    return 0 if is_on_real_time(node) else 2 - node.startswith(LONGEST)


def count() -> int:
    """How many workers the machine has cores for."""
    return min(len(os.sched_getaffinity(0)), MOST_WORKERS)


def step_back(node: str) -> None:
    """Let others have the core first, from the first test on that only computes."""
    if not is_on_real_time(node):
        os.nice(max(NICENESS - os.nice(0), 0))


class FirstForRealTime(LoadScopeScheduling):  # type: ignore[misc]  # the plugin has no types
    """Gives the first worker all tests on real time, then every worker a file at a time."""

    @property
    def nodes(self) -> list[WorkerController]:
        """Workers by name, the first one first, whichever was ready before."""
        return sorted(super().nodes, key=lambda node: (len(node.gateway.id), node.gateway.id))

    def _split_scope(self, nodeid: str) -> str:
        return "real time" if is_on_real_time(nodeid) else nodeid.partition("::")[0]
