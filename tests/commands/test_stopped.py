"""Ctrl-C in the middle of long work: one clear line, exit code 3, and nothing half written."""

from __future__ import annotations

import os
import pty
import signal
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from tests.waiting import until

ROWS = 150_000
"""Some ten seconds of replay."""
JOB = '[job]\npart = "drone fairing"\n[resin]\nfamily = "polyester"\n'
STOPPED = "Stopped before it was done; no file is left half written.\n"
END_S = 20.0


@pytest.fixture
def log(tmp_path: Path) -> Path:
    (tmp_path / "job.toml").write_text(JOB, encoding="utf-8")
    rows = (f"{n / 10:.1f},{1000 + n % 7},{22 + n % 5 / 10:.1f}\n" for n in range(ROWS))
    path = tmp_path / "log.csv"
    path.write_text("time_s,bag:mbar,part1:degC\n" + "".join(rows), encoding="utf-8")
    return path


@contextmanager
def hearing_interrupts() -> Iterator[None]:
    """Undo what a shell does to what it starts in the background: a child would ignore them too."""
    before = signal.signal(signal.SIGINT, signal.default_int_handler)
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, before)


@contextmanager
def replaying(log: Path, stderr: int) -> Iterator[subprocess.Popen[bytes]]:
    command = [sys.executable, "-m", "firmware_host", "replay", log, "--job", "job.toml"]
    with hearing_interrupts():
        started = subprocess.Popen(
            [*map(str, command), "--json", "out.json", "--folder", "jobs"],
            cwd=log.parent, stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL, stderr=stderr,
        )  # fmt: skip
    with started as child:
        try:
            yield child
        finally:
            child.kill()


def is_writing(log: Path) -> bool:
    """Whether the job folder has rows already."""
    return any(path.stat().st_size > 0 for path in log.parent.glob("jobs/*/record.sqlite-wal"))


def test_a_replay_that_is_stopped_leaves_no_folder_and_no_answers(log: Path) -> None:
    with replaying(log, subprocess.PIPE) as child:
        until(lambda: is_writing(log))
        child.send_signal(signal.SIGINT)
        assert child.wait(END_S) == 3
        assert child.stderr is not None
        assert child.stderr.read().decode() == STOPPED
    assert {path.name for path in log.parent.iterdir()} == {"job.toml", "log.csv", "jobs"}
    assert list((log.parent / "jobs").iterdir()) == []


def test_on_a_terminal_long_work_says_how_far_it_is(log: Path) -> None:
    ours, theirs = pty.openpty()
    with replaying(log, theirs) as child:
        os.close(theirs)
        said = os.read(ours, 100).decode()
        child.send_signal(signal.SIGINT)
        assert child.wait(END_S) == 3
        said += os.read(ours, 4096).decode()
    os.close(ours)
    assert said.startswith("\rreplaying ")
    assert " %" in said
    assert said.endswith(f"\r\n{STOPPED[:-1]}\r\n")
