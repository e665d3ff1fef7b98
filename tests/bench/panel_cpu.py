"""What the panel costs on a terminal, beside a bare app that changes the very same cells."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from tempfile import TemporaryDirectory

from firmware_host.clock import ManualClock, SystemClock
from firmware_host.model.commands import Answer, TrendAsk
from firmware_host.outputs.status_socket import Asked, StatusSocket
from tests.bench.figures import Found, Goal, Pair
from tests.bench.panel_looks import LOOK_S, STRETCHES, Look, stretches, write_schedule
from tests.bench.ptys import cpu_s
from tests.dashboard.terminal import Terminal

NAME = "panel_cpu"
GOAL = Goal(ratio=1.5)
FULL_S, SAMPLE_S = 60.0, 10.0
FULL_ROUNDS = 2
SAMPLE_STRETCHES = 1
WARM_S = 4.0
"""Libraries load, and the first trends are drawn."""
START_S = 30.0
FIRST_WORDS = b"kayak"


class Speaker:
    """The daemon's end of the socket: says the next look when told to."""

    def __init__(self, path: Path, looks: list[Look]) -> None:
        self._looks, self._now = looks, looks[0]
        self._socket = StatusSocket(path, ManualClock(), self._answer, lambda *_: None)
        self._socket.start()
        self._socket.publish(self._now.snapshot)

    def say(self, number: int) -> None:
        """Publish one look."""
        self._now = self._looks[number]
        self._socket.publish(self._now.snapshot)

    def close(self) -> None:
        """Let the panel go."""
        self._socket.close()

    def _answer(self, asked: Asked) -> bool:
        is_trend = isinstance(asked.command, TrendAsk)
        self._socket.answer(asked.token, self._now.trend if is_trend else Answer(ok=True, text=""))
        return True


def _measured(terminal: Terminal, looks: int, speaker: Speaker | None) -> tuple[float, int]:
    """CPU time in ms a second after the warming, and bytes a second to the terminal."""
    clock = SystemClock()
    terminal.listen_until(FIRST_WORDS, START_S)
    warm = round(WARM_S / LOOK_S)
    begun_s, begun_cpu_s, begun_bytes = clock.monotonic_s(), 0.0, 0
    for number in range(looks):
        if number == warm:
            begun_cpu_s, begun_bytes = cpu_s(terminal.program.pid), len(terminal.sent)
        if speaker is not None:
            speaker.say(number)
        terminal.listen(max(begun_s + (number + 1) * LOOK_S - clock.monotonic_s(), 0.0))
    spent_s = cpu_s(terminal.program.pid) - begun_cpu_s
    for_s = (looks - warm) * LOOK_S
    return 1000.0 * spent_s / for_s, round((len(terminal.sent) - begun_bytes) / for_s)


def _panel(folder: Path, looks: list[Look]) -> tuple[float, int]:
    socket = folder / "s.sock"
    with closing(Speaker(socket, looks)) as speaker:
        command = [sys.executable, "-m", "dashboard", "--socket", str(socket)]
        with closing(Terminal(command)) as terminal:
            return _measured(terminal, len(looks), speaker)


def _bare(folder: Path, looks: list[Look]) -> tuple[float, int]:
    schedule = folder / "schedule.json"
    write_schedule(looks, schedule)
    command = [sys.executable, "-m", "tests.bench.bare_panel", str(schedule)]
    with closing(Terminal(command)) as terminal:
        return _measured(terminal, len(looks), None)


@contextmanager
def _folder() -> Iterator[Path]:
    with TemporaryDirectory(prefix="bv-") as name:
        yield Path(name)


def run(seed: int, *, full: bool) -> Found:
    """Take each stretch both ways in turns."""
    pairs, notes = [], []
    for_s, most = (FULL_S, len(STRETCHES)) if full else (SAMPLE_S, SAMPLE_STRETCHES)
    for _ in range(FULL_ROUNDS if full else 1):
        for name, looks in stretches(seed, WARM_S + for_s, most):
            with _folder() as folder:
                (ours, our_bytes), (peer, peer_bytes) = _panel(folder, looks), _bare(folder, looks)
            pairs.append(Pair(ours=ours, peer=peer))
            notes.append(f"{name}: {our_bytes} bytes a second to the terminal, peer {peer_bytes}")
    return Found(
        name=NAME,
        ours=f"CPU time of the panel at 2 snapshots a second over {for_s:g} s, ms a second",
        peer="of a bare Textual app that changes the same cells at the same times",
        goal=GOAL,
        pairs=tuple(pairs),
        notes=tuple(notes),
    )
