"""Colour only adds: without it, and on a bare console, the terminal gets nothing it cannot show."""

from __future__ import annotations

import re
import sys
from contextlib import closing
from dataclasses import replace
from pathlib import Path

from firmware_host.model.events import AlarmState
from tests.dashboard.parts import FAULT, KICKED_CURE, TEST, snapshot
from tests.dashboard.terminal import Terminal
from tests.dashboard.test_client import Bench

WITHIN_S = 30.0
LAST_PAINTED = b"08:01"
"""The end of the trends' time axis."""
STYLE = re.compile(rb"\x1b\[([0-9;]*)m")
COLOURLESS = {"", "0", "1", "2", "7", "39", "49"}
"""Reset, bold, dim, inverse, and the terminal's own two colours."""
BRAILLE = re.compile("[\u2800-\u28ff]")


def painted(folder: Path, *words: str, **environment: str) -> bytes:
    """What a panel with a drop test, a seen fault and trends sends to its terminal."""
    bench = Bench(folder / "s.sock")
    seen = replace(FAULT, state=AlarmState.ACKNOWLEDGED)
    bench.server.publish(snapshot(drop_test=TEST, cure=KICKED_CURE, alarms=(seen,)))
    command = [sys.executable, "-m", "dashboard", "--socket", str(folder / "s.sock"), *words]
    try:
        with closing(Terminal(command, environment)) as terminal:
            terminal.listen_until(LAST_PAINTED, WITHIN_S)
            return bytes(terminal.sent)
    finally:
        bench.server.close()


def styles(sent: bytes) -> set[str]:
    return {part for style in STYLE.findall(sent) for part in style.decode().split(";")}


def test_with_colour_the_sixteen_of_the_terminal_are_used_and_no_others(tmp_path: Path) -> None:
    used = styles(painted(tmp_path)) - COLOURLESS
    assert used == {"93", "94"}  # bright yellow and bright blue: never red against green


def test_without_colour_bold_dim_and_inverse_are_all_that_is_left(tmp_path: Path) -> None:
    sent = painted(tmp_path, NO_COLOR="1")
    assert styles(sent) <= COLOURLESS
    assert {"1", "2", "7"} <= styles(sent)
    assert b"!! open" in sent


def test_as_ascii_no_byte_is_above_seven_bits(tmp_path: Path) -> None:
    sent = painted(tmp_path, "--ascii")
    assert sent.isascii()
    assert b"####" in sent


def test_no_glyph_is_braille(tmp_path: Path) -> None:
    assert not BRAILLE.search(painted(tmp_path).decode())
