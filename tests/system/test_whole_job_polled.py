"""The whole job once more, without a board: SPI, I2C and Modbus, with the same verdicts."""

from __future__ import annotations

import subprocess
import sys
import threading
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import pytest

from firmware_host.app import run_watch
from firmware_host.inputs.buses import Buses
from firmware_host.model.events import (
    AlarmChanged,
    Event,
    GelPlaced,
    LeakChecked,
    MarkTaken,
    Phase,
    PhaseEntered,
    SensorFaultChanged,
    Verdict,
)
from firmware_host.outputs.record_reader import open_record
from firmware_host.place import read_watch
from simulations.drawer import Drawer
from simulations.marks import MarkSender
from simulations.rig import Rig
from simulations.scenario import load
from simulations.truth import Truth
from tests.system.drawers import (
    I2C_BENCH,
    MODBUS_BENCH,
    SPI_BENCH,
    I2cDrawer,
    ModbusDrawer,
    SpiDrawer,
)
from tests.system.patience import PatientClock
from tests.system.room import JOB
from tests.system.scenarios import whole_job
from tests.system.test_whole_job import MIXED_SAID_S

GEL_WITHIN = 0.15
"""Of the time since mixing; one slow batch, whose rate is a third off the job file's."""

PACES = {"spi": (300.0, 4.0), "i2c": (300.0, 4.0), "modbus": (120.0, 8.0)}
"""Times as fast as the world, and the period in seconds. A gauge's time-out is real time: a busy
machine that leaves one waiting must not look like a minute of silence."""
MOMENT_PERIODS = 1.5
"""The clock waits for a machine that does not look at it for longer."""
LONGEST_RUN_S = 90.0
LEAST_SHARE = 0.8
"""Of the samples: what a machine busy with other tests leaves time for."""


@dataclass(frozen=True, slots=True)
class Done:
    """A job that is over."""

    folder: Path
    said: tuple[Event, ...]
    frames: int
    last_frame_s: float
    truth: Truth
    period_s: float

    def scenario_s(self, job_s: float) -> float:
        """Scenario time of a moment on the job's time line."""
        mixed = next(e for e in self.said if isinstance(e, MarkTaken) and e.name == "mixed")
        return job_s - mixed.at_s + MIXED_SAID_S


class Play:
    """One job in a folder, on one kind of port, in this process."""

    def __init__(self, folder: Path, rate: float, period_s: float) -> None:
        self.folder = folder
        self.period_s = period_s
        self.clock = PatientClock(rate, MOMENT_PERIODS * period_s)
        (folder / "jobs").mkdir()
        (folder / "jobs" / "job.toml").write_text(JOB, encoding="utf-8")
        scenario = folder / "scenario.toml"
        scenario.write_text(whole_job(), encoding="utf-8")
        self.complaints: list[str] = []
        self.marks = MarkSender(folder / "s.sock", self.clock, self.complaints.append)
        self.drawer = Drawer(Rig(load(str(scenario))), self.clock, period_s / 2.0, self.marks.say)

    def run(self, bench: str, buses: Callable[[], Buses] | None) -> Done:
        """Watch to the scenario's end."""
        (self.folder / "bench.toml").write_text(bench, encoding="utf-8")
        (self.folder / "job.toml").write_text(JOB, encoding="utf-8")
        stop = threading.Event()
        folders: list[Path] = []
        more = {} if buses is None else {"buses": buses}
        watch = read_watch(self.folder / "bench.toml", self.folder / "job.toml")
        daemon = threading.Thread(
            target=run_watch, args=(watch, self.clock, stop, folders.append), kwargs=more
        )
        daemon.start()
        try:
            assert self.drawer.over.wait(LONGEST_RUN_S), "the scenario did not end"
        finally:
            self.marks.close()
            stop.set()
            daemon.join()
        assert self.complaints == []
        return self._done(folders[0])

    def _done(self, folder: Path) -> Done:
        with open_record(folder) as record:
            said = tuple(record.events())
            last = record.last_row("frame_0")
            assert last is not None
            return Done(
                folder=folder,
                said=said,
                frames=record.frame_count,
                last_frame_s=record.decode_input(last).given.time_s,
                truth=self.drawer.rig.truth.truth(),
                period_s=self.period_s,
            )


@pytest.fixture(scope="module", params=["spi", "i2c", "modbus"])
def done(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Done:
    rate, period_s = PACES[request.param]
    play = Play(tmp_path_factory.mktemp(request.param), rate, period_s)
    if request.param == "spi":
        spi = SpiDrawer(play.drawer)
        return play.run(SPI_BENCH.format(period_s=period_s), lambda: spi)
    if request.param == "i2c":
        i2c = I2cDrawer(play.drawer)
        return play.run(I2C_BENCH.format(period_s=period_s), lambda: i2c)
    line = play.folder / "line"
    gauges = ModbusDrawer(play.drawer, line)
    try:
        return play.run(MODBUS_BENCH.format(period_s=period_s, device=line), None)
    finally:
        gauges.close()


def test_the_samples_are_in_the_record(done: Done) -> None:
    assert done.frames > LEAST_SHARE * done.truth.length_s / done.period_s


def test_every_phase_of_the_job_was_entered_in_order(done: Done) -> None:
    assert [event.phase for event in done.said if isinstance(event, PhaseEntered)] == [
        Phase.WORKING,
        Phase.DRAWDOWN,
        Phase.WAITING,
        Phase.KICKED,
        Phase.COOLING,
        Phase.RELEASED,
        Phase.CLOSED,
    ]


def test_the_drop_test_is_tight_and_its_interval_holds_the_truth(done: Done) -> None:
    (final,) = [event for event in done.said if isinstance(event, LeakChecked) and event.final]
    (true,) = done.truth.isolated
    assert final.verdict is Verdict.TIGHT
    assert final.rise_low_pa_per_s is not None and final.rise_high_pa_per_s is not None
    assert final.rise_low_pa_per_s <= true.leak_rise_pa_per_s <= final.rise_high_pa_per_s


def test_the_gel_is_placed_where_it_truly_was(done: Done) -> None:
    gel = [event for event in done.said if isinstance(event, GelPlaced)][-1]
    true_s = done.truth.gel_s
    assert true_s is not None
    assert done.scenario_s(gel.low_s) <= true_s <= done.scenario_s(gel.high_s)
    assert abs(done.scenario_s(gel.gel_s) - true_s) < GEL_WITHIN * (true_s - 60.0)


def test_a_healthy_job_raises_no_alarm(done: Done) -> None:
    # The left-over resin in its cup grows hot as a rule: a notice, not an alarm about the part.
    assert [
        event
        for event in done.said
        if isinstance(event, AlarmChanged | SensorFaultChanged)
        and event.time_s <= done.last_frame_s
        and not (isinstance(event, AlarmChanged) and event.name == "cup_hot")
    ] == []


def test_the_record_replays_to_the_same_events_and_was_not_changed(done: Done) -> None:
    for words, answer in (
        (["replay"], f"{len(done.said)} events, the same as recorded.\n"),
        (["verify"], f"{done.folder}: nothing was changed.\n"),
    ):
        ran = subprocess.run(
            [sys.executable, "-m", "firmware_host", *words, str(done.folder)],
            capture_output=True,
            text=True,
            timeout=120.0,
            check=False,
        )
        assert (ran.returncode, ran.stdout) == (0, answer), ran.stderr
