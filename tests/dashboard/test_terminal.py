"""What the panel really sends to a terminal, byte for byte."""

from __future__ import annotations

import sys
from contextlib import closing
from pathlib import Path

from firmware_host.clock import SystemClock
from tests.dashboard.parts import TREND
from tests.dashboard.terminal import Terminal
from tests.dashboard.test_client import Bench

WITHIN_S = 30.0
LOOK_S = 0.5
LOOKS = 12
"""Six seconds: the trends are asked for once more on the way."""
LAST_PAINTED = b"08:01"
"""The end of the trends' time axis."""


def test_data_that_does_not_change_sends_no_byte(tmp_path: Path) -> None:
    assert TREND.time_s[-1] == 60.0
    socket, clock = tmp_path / "bench.sock", SystemClock()
    bench = Bench(socket)
    try:
        bench.publish(0)
        command = [sys.executable, "-m", "dashboard", "--socket", str(socket)]
        with closing(Terminal(command)) as terminal:
            terminal.listen_until(LAST_PAINTED, WITHIN_S)
            asked = len(bench.asked)
            terminal.listen(LOOK_S)
            painted, begun_s = len(terminal.sent), clock.monotonic_s()
            for look in range(1, LOOKS + 1):
                bench.publish(look)  # rows are stored all the time; nobody is shown their number
                terminal.listen(max(begun_s + look * LOOK_S - clock.monotonic_s(), 0.0))
            assert bytes(terminal.sent[painted:]) == b""
            assert len(bench.asked) > asked
            terminal.press(b"?")
            terminal.listen_until(b"It is not a safety system", WITHIN_S)
    finally:
        bench.server.close()


def test_a_panel_whose_terminal_is_gone_ends(tmp_path: Path) -> None:
    socket, clock = tmp_path / "bench.sock", SystemClock()
    bench = Bench(socket)
    try:
        bench.publish(0)
        terminal = Terminal([sys.executable, "-m", "dashboard", "--socket", str(socket)])
        terminal.listen_until(LAST_PAINTED, WITHIN_S)
        terminal.hang_up()
        begun_s = clock.monotonic_s()
        while terminal.program.poll() is None and clock.monotonic_s() - begun_s < WITHIN_S:
            bench.publish(1)
            clock.sleep(0.1)
        assert terminal.program.poll() is not None
    finally:
        bench.server.close()
