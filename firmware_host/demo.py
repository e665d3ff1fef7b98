"""The demo: a simulated bench, a pseudo-terminal and the real daemon, told as a story.

Two child processes do the work, the very programs that a bench runs: `python -m simulations` plays
the board and the person's hands, `bagvigil watch` watches. This module only listens on the socket
and turns what changes into plain lines.
"""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path

from firmware_host.errors import BusyError, MonitorError
from firmware_host.inputs.socket_client import stream
from firmware_host.model.events import AlarmState, Phase, Verdict
from firmware_host.model.snapshot import Snapshot, View
from hardware.units import ZERO_CELSIUS_K

STOP_WITHIN_S = 15.0
OVER = (Phase.CLOSED, Phase.ABANDONED)
PA_PER_MBAR = 100.0
PROGRESS_EVERY_S = 600.0
"""Job time between two lines that only say how things stand."""

PHASE_STORY = {
    Phase.DRY_BAG: "The dry bag is being proved.",
    Phase.WORKING: "The cup is mixed. From now on a clock runs that nobody can see.",
    Phase.DRAWDOWN: "The bag is closed.",
    Phase.WAITING: "Vacuum is on. Now to wait for the resin.",
    Phase.KICKED: "It has kicked.",
    Phase.COOLING: "The heat has come and is going.",
    Phase.RELEASED: "The vacuum is off.",
    Phase.CLOSED: "Off the form. The job is closed.",
    Phase.ABANDONED: "The job was abandoned.",
}


class DemoFailed(MonitorError, RuntimeError):  # noqa: N818 - reads as what it says to a person
    """One of the two programs of the demo ended before its time."""

    exit_code = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class Stage:
    """Where a demo plays."""

    folder: Path
    scenario: str
    rate: float

    @property
    def bench(self) -> Path:
        """The bench file that the simulated board writes."""
        return self.folder / "bench.toml"

    @property
    def job(self) -> Path:
        """The job description of the scenario."""
        return self.folder / "job.toml"

    @property
    def socket(self) -> Path:
        """The daemon's socket."""
        return self.folder / "bagvigil.sock"


@contextmanager
def running(stage: Stage) -> Iterator[tuple[subprocess.Popen[str], subprocess.Popen[str]]]:
    """Run the simulated bench and the daemon; both are ended on the way out."""
    stage.folder.mkdir(parents=True, exist_ok=True)
    python = sys.executable
    job = subprocess.run(
        [python, "-m", "simulations", stage.scenario, "--print-job"],
        check=True,
        capture_output=True,
        text=True,
    )
    stage.job.write_text(job.stdout, encoding="utf-8")
    log = (stage.folder / "demo.log").open("w", encoding="utf-8")
    bench = subprocess.Popen(
        [python, "-m", "simulations", stage.scenario, "--link", str(stage.folder / "board")]
        + ["--rate", str(stage.rate), "--wait", "--marks-socket", str(stage.socket)]
        + ["--bench-file", str(stage.bench)],
        stdout=subprocess.PIPE,
        stderr=log,
        text=True,
    )
    try:
        if bench.stdout is None or not bench.stdout.readline():
            raise DemoFailed(f"The simulated bench did not start; see {log.name}.")
        daemon = subprocess.Popen(
            [python, "-m", "firmware_host", "watch", "--bench", str(stage.bench)]
            + ["--job", str(stage.job), "--clock-rate", str(stage.rate), "--new-job"],
            stdout=subprocess.PIPE,
            stderr=log,
            text=True,
        )
        try:
            yield bench, daemon
        finally:
            _end(daemon)
    finally:
        _end(bench)
        log.close()


def _end(process: subprocess.Popen[str]) -> None:
    process.terminate()
    try:
        process.wait(STOP_WITHIN_S)
    except subprocess.TimeoutExpired:
        process.kill()
        process.wait()
    if process.stdout is not None:
        process.stdout.close()


def snapshots(stage: Stage, daemon: subprocess.Popen[str]) -> Iterator[Snapshot]:
    """Give the daemon's snapshots from its first one on; ends when the daemon ends."""
    if daemon.stdout is None or not daemon.stdout.readline():
        raise DemoFailed(f"The daemon did not start; see {stage.folder / 'demo.log'}.")
    try:
        yield from stream(stage.socket)
    except BusyError:
        if daemon.poll() is None:
            raise


@dataclass(slots=True)
class Story:
    """Turns snapshots into lines; each thing is told once."""

    tell: Callable[[str], None]
    _phase: Phase = Phase.PLANNED
    _alarms: dict[str, AlarmState] = field(default_factory=dict)
    _test: tuple[int, Verdict, bool] | None = None
    _next_word_s: float = 0.0

    def take(self, view: View) -> None:
        """Tell what is new since the last snapshot."""
        self._tell_phase(view)
        self._tell_test(view)
        self._tell_alarms(view)
        if view.time_s >= self._next_word_s:
            self._next_word_s = view.time_s + PROGRESS_EVERY_S
            self._line(view, how_it_stands(view))

    def _line(self, view: View, text: str) -> None:
        seconds = int(view.time_s - view.mixed_s if view.mixed_s is not None else view.time_s)
        sign = "-" if seconds < 0 else " "
        minutes = abs(seconds) // 60
        self.tell(f"{sign}{minutes // 60}:{minutes % 60:02d}  {text}")

    def _tell_phase(self, view: View) -> None:
        if view.phase is self._phase:
            return
        self._phase = view.phase
        said = PHASE_STORY.get(view.phase)
        if said is not None:
            self._line(view, f"{said}{_kick_words(view) if view.phase is Phase.KICKED else ''}")

    def _tell_test(self, view: View) -> None:
        test = view.drop_test
        if test is None:
            return
        stands = (test.number, test.verdict, test.running)
        if stands == self._test:
            return
        if self._test is None or self._test[0] != test.number:
            self._line(view, f"Drop test {test.number}: the valve is shut.")
        self._test = stands
        word = "not proven" if test.verdict is Verdict.UNDECIDED else test.verdict.value
        if test.rise_pa_per_s is None or (test.running and test.verdict is Verdict.UNDECIDED):
            return
        self._line(
            view,
            f"Drop test {test.number}: {word}{'' if test.running else ', over'}. Air leaks in at "
            f"{test.rise_pa_per_s:.1f} Pa/s ({test.rise_low_pa_per_s:.1f} to "
            f"{test.rise_high_pa_per_s:.1f}), limit {test.limit_pa_per_s:.1f}.",
        )

    def _tell_alarms(self, view: View) -> None:
        for alarm in view.alarms:
            before = self._alarms.get(alarm.id)
            if alarm.state is before:
                continue
            self._alarms[alarm.id] = alarm.state
            name = alarm.name.replace("_", " ")
            if alarm.state is AlarmState.ACTIVE:
                self._line(view, f"!! {name}: {alarm.text}")
                self._line(view, f"   do: {alarm.action}")
            elif alarm.state is AlarmState.RETURNED:
                self._line(view, f"   {name}: its cause is gone.")


def how_it_stands(view: View) -> str:
    """Say the state of a moment in one line."""
    values = {channel.name: channel.value for channel in view.channels}
    words = [view.phase.value.replace("_", " ")]
    bag = values.get("bag")
    words.append("bag not measured" if bag is None else f"bag {bag / PA_PER_MBAR:.0f} mbar")
    part = values.get("part1")
    words.append(
        "laminate not measured" if part is None else f"laminate {part - ZERO_CELSIUS_K:.1f} degC"
    )
    cure = view.cure
    if cure is not None and cure.conversion is not None:
        words.append(
            f"conversion {cure.conversion:.2f} "
            f"({cure.conversion_low:.2f} to {cure.conversion_high:.2f})"
        )
    elif cure is not None and cure.gel_low_s is not None and view.mixed_s is not None:
        low_min = (cure.gel_low_s - view.mixed_s) / 60.0
        high_min = ((cure.gel_high_s or 0.0) - view.mixed_s) / 60.0
        words.append(f"kick expected {low_min:.0f} to {high_min:.0f} min after mixing")
    return ", ".join(words)


def _kick_words(view: View) -> str:
    cure = view.cure
    if cure is None or cure.gel_s is None or view.mixed_s is None:
        return ""
    low, middle, high = (
        ((moment if moment is not None else cure.gel_s) - view.mixed_s) / 60.0
        for moment in (cure.gel_low_s, cure.gel_s, cure.gel_high_s)
    )
    return f" Gel {middle:.0f} min after mixing ({low:.0f} to {high:.0f})."
