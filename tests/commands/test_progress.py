"""How far long work is: told to a terminal, after a moment, and never to a file."""

from __future__ import annotations

from io import StringIO

import pytest

from firmware_host.clock import ManualClock
from firmware_host.commands.progress import QUIET_S, ProgressLine


class Terminal(StringIO):
    def isatty(self) -> bool:
        return True


def told(stream: StringIO, *steps: tuple[float, float]) -> str:
    """Take steps of seconds since the beginning and shares that are done."""
    clock = ManualClock()
    with ProgressLine("reading", clock, stream) as progress:
        for at_s, share in steps:
            clock.turn(at_s - clock.monotonic_s())
            progress(share)
    return stream.getvalue()


def test_a_terminal_is_told_every_percent_once() -> None:
    steps = ((QUIET_S, 0.1), (QUIET_S, 0.109), (3.0, 0.11), (9.0, 1.0))
    assert told(Terminal(), *steps) == "\rreading  10 %\rreading  11 %\rreading 100 %\n"


def test_work_that_is_done_within_a_moment_says_nothing() -> None:
    assert told(Terminal(), (0.0, 0.0), (QUIET_S - 0.001, 1.0)) == ""


def test_a_file_or_a_pipe_is_told_nothing() -> None:
    assert told(StringIO(), (9.0, 0.5), (99.0, 1.0)) == ""


def test_what_is_said_after_a_stop_stands_on_a_line_of_its_own() -> None:
    stream, clock = Terminal(), ManualClock()
    progress = ProgressLine("replaying", clock, stream)
    clock.turn(QUIET_S)
    with pytest.raises(KeyboardInterrupt), progress:
        progress(0.42)
        raise KeyboardInterrupt
    assert stream.getvalue() == "\rreplaying  42 %\n"
