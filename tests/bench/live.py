"""A real daemon beside a bare reader, both fed with the same lines at the same pace."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from tempfile import TemporaryDirectory

from firmware_host.clock import SystemClock
from firmware_host.inputs.socket_client import ask_snapshot
from simulations.files import job_toml
from simulations.rig import Line, Rig
from simulations.scenario import Scenario
from tests.bench.feed import PERIOD_S, bench_of
from tests.bench.ptys import BARE_READER, Wire
from tests.waiting import until

START_S = 20.0


class Live:
    """Two children at two ptys."""

    def __init__(self, folder: Path, scenario: Scenario) -> None:
        self.folder = folder
        self._clock = SystemClock()
        self._rig = Rig(scenario, period_s=PERIOD_S)
        self._lines = self._said()
        self._wires = Wire(folder / "one"), Wire(folder / "two")
        (folder / "bench.toml").write_text(bench_of(scenario, folder / "one", folder))
        (folder / "job.toml").write_text(job_toml(scenario))
        self.log = (folder / "daemon.log").open("wb")
        self.daemon = subprocess.Popen(
            [sys.executable, "-m", "firmware_host", "watch", "--bench", str(folder / "bench.toml"),
             "--job", str(folder / "job.toml")],
            cwd=folder, stdin=subprocess.DEVNULL, stdout=self.log, stderr=self.log,
        )  # fmt: skip
        self.bare = subprocess.Popen(
            [sys.executable, "-c", BARE_READER, str(folder / "two")],
            cwd=folder, stdin=subprocess.DEVNULL, stdout=self.log, stderr=self.log,
        )  # fmt: skip

    def settle(self) -> None:
        """Speak until the daemon has samples on the disk, and both are past their start."""
        self._send(self._rig.board.hello())

        def is_up() -> bool:
            self._send(self._rig.board.hello())
            self.speak(0.5)
            return "open" in (self.folder / "daemon.log").read_text("utf-8") and self.stored() > 10

        until(is_up, START_S)

    def speak(self, for_s: float) -> None:
        """Send both the board's lines for this long."""
        begun_s = self._clock.monotonic_s()
        for number in range(1, round(for_s / PERIOD_S) + 1):
            self._send(next(self._lines))
            due_s = begun_s + number * PERIOD_S
            self._clock.sleep(max(0.0, due_s - self._clock.monotonic_s()))

    def stored(self) -> int:
        """Samples that the daemon has on the disk; 0 while it does not answer."""
        socket = self.folder / "s.sock"
        return ask_snapshot(socket).stored_rows if socket.exists() else 0

    def close(self) -> None:
        """End both."""
        for child in (self.daemon, self.bare):
            child.kill()
            child.wait()
        for wire in self._wires:
            wire.close()
        self.log.close()

    def _send(self, line: bytes) -> None:
        for wire in self._wires:
            wire.write(line)

    def _said(self) -> Iterator[bytes]:
        while True:
            for thing in self._rig.run_to(self._rig.board.sample_due_s):
                if isinstance(thing, Line) and thing.data.startswith(b"@S"):
                    yield thing.data


@contextmanager
def live(scenario: Scenario) -> Iterator[Live]:
    """Both children, up and settled; ended afterwards."""
    with TemporaryDirectory(prefix="bv-") as name:
        children = Live(Path(name), scenario)
        try:
            children.settle()
            yield children
        finally:
            children.close()
