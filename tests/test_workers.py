"""Several workers: each test runs once, and what waits for real time runs on the first one only."""

from __future__ import annotations

from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

pytest.importorskip("xdist", reason="without the plugin the suite runs in one process")

from tests.workers import (  # noqa: E402 - as above
    LONGEST,
    REAL_TIME,
    FirstForRealTime,
    is_on_real_time,
    turn,
)

ROOT = Path(__file__).parents[1]
COLLECTED = [
    *(f"tests/system/test_{name}.py::test_{n}" for name in ("a", "b") for n in range(3)),
    *(f"tests/core/test_{name}.py::test_{n}[x::y]" for name in "abcde" for n in range(2)),
]


class Worker:
    """Keeps what it was given to do."""

    shutting_down = False

    def __init__(self, name: str) -> None:
        self.gateway = SimpleNamespace(id=name)
        self.given: list[int] = []

    def send_runtest_some(self, indices: list[int]) -> None:
        self.given += indices

    def shutdown(self) -> None:
        self.shutting_down = True


class Config:
    """As much of the runner's settings as a scheduler looks at."""

    option = SimpleNamespace(loadscopereorder=False)

    def getvalue(self, _: str) -> list[str]:
        return ["popen", "popen"]


def share_out(*workers: Worker) -> None:
    """Hand the tests out; whoever has the fewest behind it is the next to end one."""
    scheduler: Any = FirstForRealTime(Config(), None)
    for worker in workers:
        scheduler.add_node(worker)
        scheduler.add_node_collection(worker, COLLECTED)
    scheduler.schedule()
    done = dict.fromkeys(workers, 0)
    while left := [worker for worker in workers if done[worker] < len(worker.given)]:
        worker = min(left, key=lambda one: done[one])
        scheduler.mark_test_complete(worker, worker.given[done[worker]])
        done[worker] += 1


def test_every_test_runs_once_and_those_on_real_time_one_after_the_other_on_the_first() -> None:
    first, second = Worker("gw0"), Worker("gw1")
    share_out(second, first)  # the second was ready before
    assert sorted(first.given + second.given) == list(range(len(COLLECTED)))
    assert first.given[:6] == list(range(6))
    assert second.given
    assert not any(is_on_real_time(COLLECTED[index]) for index in second.given)


def test_a_file_that_only_computes_is_not_torn_apart() -> None:
    first, second = Worker("gw0"), Worker("gw1")
    share_out(first, second)
    for worker in (first, second):
        pure = [index for index in worker.given if not is_on_real_time(COLLECTED[index])]
        assert [index % 2 for index in pure] == [0, 1] * (len(pure) // 2)


def test_what_waits_comes_first_and_the_long_files_next() -> None:
    nodes = ("tests/core/test_a.py::b", f"{LONGEST[0]}::b", f"{REAL_TIME[0]}::b")
    assert [turn(node) for node in nodes] == [2, 1, 0]


@pytest.mark.parametrize("beginning", REAL_TIME + LONGEST)
def test_what_is_listed_is_there(beginning: str) -> None:
    assert list(ROOT.glob(f"{beginning}*"))
