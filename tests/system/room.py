"""One bench's folder with its processes: daemon and simulator, started and ended for a test.

Whatever was started is killed at the end, also when the test fails. Output goes to files, so that
no child ever waits for a reader.
"""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from collections.abc import Mapping, Sequence
from pathlib import Path

from firmware_host.errors import BusyError
from firmware_host.inputs.socket_client import ask_snapshot
from firmware_host.model.snapshot import Snapshot
from tests.waiting import until

START_S = 20.0
"""Real time that a child may take to come up on a busy machine."""
END_S = 20.0

JOB = """\
[job]
part = "drone fairing"
work_time_min = 15.0
initiator_percent = 1.5
[resin]
family = "polyester"
[bag]
free_volume_l = 3.0
[limits]
latest_gel_min = 120.0
highest_temperature_c = 80.0
"""

NO_PORTS = """\
[bench]
name = "cold-bench"
period_s = {period_s}
[socket]
path = "{socket}"
[record]
folder = "{folder}"
"""
TWO_CHANNELS = """\
[[port]]
name = "board"
kind = "bv1"
device = "{device}"
[[channel]]
name = "bag"
port = "board"
index = 0
kind = "adc16s"
reference = "absolute"
volts_per_count = 187.5e-6
supply_index = 2
zero_fraction = 0.10
span_fraction = 0.80
full_scale_pa = 100000.0
[[channel]]
name = "part1"
port = "board"
index = 1
kind = "tc31855"
couple = "K"
"""
"""The bench of `tests.inputs.boards`, as a file."""


class Child:
    """A process with its output in files."""

    def __init__(
        self,
        folder: Path,
        name: str,
        arguments: Sequence[str],
        environment: Mapping[str, str] | None = None,
    ) -> None:
        self.out_path, self.err_path = folder / f"{name}.out", folder / f"{name}.err"
        with self.out_path.open("wb") as out, self.err_path.open("wb") as err:
            self._process = subprocess.Popen(
                [sys.executable, "-m", *arguments],
                cwd=folder,
                stdin=subprocess.DEVNULL,
                stdout=out,
                stderr=err,
                env={**os.environ, **(environment or {})},
            )

    @property
    def pid(self) -> int:
        return self._process.pid

    @property
    def is_alive(self) -> bool:
        return self._process.poll() is None

    @property
    def out(self) -> str:
        return self.out_path.read_text(encoding="utf-8")

    @property
    def err(self) -> str:
        return self.err_path.read_text(encoding="utf-8")

    def signal(self, number: signal.Signals) -> None:
        self._process.send_signal(number)

    def wait(self, deadline_s: float = END_S) -> int:
        """Give the exit code; fail when it does not end."""
        return self._process.wait(deadline_s)

    def stop(self) -> int:
        """Ask it to end, and give its exit code."""
        self.signal(signal.SIGTERM)
        return self.wait()

    def kill(self) -> None:
        """End it without a word, whatever it is doing."""
        if self.is_alive:
            self._process.kill()
        self._process.wait()


class Room:
    """The folder of one bench."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.device = folder / "board"
        self.socket = folder / "s.sock"
        self.bench = folder / "bench.toml"
        self.job = folder / "job.toml"
        self.truth = folder / "truth.json"
        self.job.write_text(JOB, encoding="utf-8")
        self._children: list[Child] = []

    def close(self) -> None:
        """Leave nothing running."""
        for child in self._children:
            child.kill()

    def start(
        self, module: str, *arguments: object, environment: Mapping[str, str] | None = None
    ) -> Child:
        """Start `python -m MODULE ARGUMENTS` in the folder."""
        name = f"{len(self._children)}-{module.rsplit('.', 1)[-1]}"
        words = [module, *(str(argument) for argument in arguments)]
        child = Child(self.folder, name, words, environment)
        self._children.append(child)
        return child

    def simulate(
        self, scenario: str, *, rate: float = 1.0, period_s: float = 0.5, job: str = JOB
    ) -> Child:
        """Start the simulated bench; its time begins when the daemon first speaks to it.

        `scenario` is the text of a scenario file.
        """
        place = self.folder / "scenario"
        (place / "jobs").mkdir(parents=True, exist_ok=True)
        (place / "jobs" / "job.toml").write_text(job, encoding="utf-8")
        self.job.write_text(job, encoding="utf-8")
        (place / "bench.toml").write_text(scenario, encoding="utf-8")
        child = self.start(
            "simulations", place / "bench.toml", "--link", self.device, "--wait",
            "--rate", rate, "--period", period_s, "--truth", self.truth,
            "--marks-socket", self.socket, "--bench-file", self.bench,
        )  # fmt: skip
        until(lambda: child.out.startswith("device ") or not child.is_alive, START_S)
        assert child.is_alive, child.err
        return child

    def write_bench(
        self,
        *,
        ports: bool = True,
        period_s: float = 0.5,
        path: Path | None = None,
        device: Path | None = None,
        socket: str = "s.sock",
        folder: str = "jobs",
    ) -> Path:
        """Write a bench file for a board that the test itself plays; give its path."""
        text = NO_PORTS.format(period_s=period_s, socket=socket, folder=folder)
        if ports:
            text += TWO_CHANNELS.format(device=device or self.device)
        place = path or self.bench
        place.write_text(text, encoding="utf-8")
        return place

    def watch(self, *arguments: object, environment: Mapping[str, str] | None = None) -> Child:
        """Start the daemon with the room's two files."""
        given = arguments if "--bench" in arguments else ("--bench", self.bench, *arguments)
        return self.start(
            "firmware_host", "watch", "--job", self.job, *given, environment=environment
        )

    def job_folder(self, daemon: Child) -> Path:
        """Wait for the daemon to say where the job folder is."""
        until(lambda: "\n" in daemon.out or not daemon.is_alive, START_S)
        assert daemon.is_alive, daemon.err
        return self.folder / daemon.out.splitlines()[0]

    def look(self) -> Snapshot | None:
        """Ask the daemon how things stand; None while it does not answer."""
        try:
            return ask_snapshot(self.socket)
        except BusyError:
            return None

    def see(self) -> Snapshot:
        """Ask the daemon, which must answer."""
        return ask_snapshot(self.socket)

    def command(self, *arguments: object) -> subprocess.CompletedProcess[str]:
        """Run `bagvigil ARGUMENTS` to its end."""
        return subprocess.run(
            [sys.executable, "-m", "firmware_host", *(str(word) for word in arguments)],
            cwd=self.folder,
            stdin=subprocess.DEVNULL,
            capture_output=True,
            text=True,
            timeout=120.0,
            check=False,
        )
