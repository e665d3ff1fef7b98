"""A record played to the panel at a pace: what happened then, at its times, and nothing else."""

from __future__ import annotations

import sys
import threading
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from pathlib import Path

import pytest

from firmware_host.clock import ManualClock
from firmware_host.inputs.inbox import Inbox
from firmware_host.model.commands import AcknowledgeCommand, Answer, MarkCommand, Request, TrendAsk
from firmware_host.model.events import AlarmState
from firmware_host.model.samples import Input, Mark, Tick, Unseen
from firmware_host.model.snapshot import Snapshot
from firmware_host.model.trend import Trend
from firmware_host.outputs.record_reader import open_record
from firmware_host.outputs.status_socket import Asked
from firmware_host.replay import monitor_of
from firmware_host.training import NOT_HERE, Player, show
from tests.outputs.record_parts import PATIENCE_S, frame_at, make_folder, open_writer
from tests.system.room import JOB

FRAMES_END_S, GAP_S = 20.0, 3600.0
END_S = FRAMES_END_S + GAP_S + 20.0


def inputs() -> list[Input]:
    """Some seconds of a bench, an hour that nobody saw, and a bench that has fallen silent."""
    frames: list[Input] = [frame_at(number) for number in range(1, 41)]
    back_s = FRAMES_END_S + GAP_S
    ticks: list[Input] = [Tick(back_s + second) for second in range(1, 21)]
    marked = Mark(12.0, "pump_on", FRAMES_END_S)
    return [*frames, marked, Unseen(back_s, FRAMES_END_S, "it was off"), *ticks]


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    made = make_folder(tmp_path, job=JOB.encode())
    writer = open_writer(made)
    for given in inputs():
        writer.put(given)
    writer.close(PATIENCE_S)
    return made


@dataclass
class Onlooker:
    """Looks at every snapshot, asks when told to, and leaves after a while."""

    clock: ManualClock
    inbox: Inbox[Asked] = field(default_factory=lambda: Inbox(threading.Event()))
    seen: list[tuple[float, Snapshot]] = field(default_factory=list)
    answers: list[Answer | Trend] = field(default_factory=list)

    def play(self, folder: Path, ask: Request | None = None, from_s: float = 0.0) -> None:
        def is_left() -> bool:
            nonlocal ask
            if ask is not None and self.clock.monotonic_s() >= from_s:
                self.inbox.offer(Asked(token=1, command=ask))
                ask = None
            return self.clock.monotonic_s() > END_S - GAP_S + 5.0

        with open_record(folder) as record:
            Player(
                record,
                self.clock,
                self.inbox,
                show=lambda now: self.seen.append((self.clock.monotonic_s(), now)),
                answer=lambda _, answer: self.answers.append(answer),
                is_left=is_left,
            ).play()


def test_what_is_shown_is_what_the_core_said_then_at_its_time(folder: Path) -> None:
    looking = Onlooker(ManualClock())
    looking.play(folder)
    with open_record(folder) as record:
        core = monitor_of(record)
        for given in record.inputs():
            core.step(given)
        zero = datetime.fromisoformat(record.meta.zero_wall)
    first_at_s, first = looking.seen[0]
    assert first_at_s == pytest.approx(0.5, abs=0.1)
    assert first.view.time_s == 0.5
    _, last = looking.seen[-1]
    assert last.view == core.view()
    assert last.stored_rows == 40
    for at_s, now in looking.seen:
        job_s = at_s if at_s < FRAMES_END_S or now.view.time_s == FRAMES_END_S else at_s + GAP_S
        assert now.view.time_s == pytest.approx(min(job_s, END_S), abs=1.1)
        assert datetime.fromisoformat(now.wall) - zero == pytest.approx(
            timedelta(seconds=job_s), abs=timedelta(seconds=0.1)
        )


def test_an_hour_that_nobody_saw_is_skipped(folder: Path) -> None:
    looking = Onlooker(ManualClock())
    looking.play(folder)
    assert looking.clock.monotonic_s() < END_S - GAP_S + 6.0
    assert looking.seen[-1][1].view.time_s == END_S


def test_an_alarm_is_acknowledged_in_memory_only(folder: Path) -> None:
    looking = Onlooker(ManualClock())
    held = (folder / "record.sqlite").read_bytes()
    asked = AcknowledgeCommand(id="sensor_fault-bag-1", by="trainee")
    looking.play(folder, asked, from_s=END_S - GAP_S + 1.0)
    (answer,) = looking.answers
    assert answer == Answer(ok=True, text="sensor_fault is acknowledged.")
    states = {alarm.id: alarm.state for alarm in looking.seen[-1][1].view.alarms}
    assert states[asked.id] is AlarmState.ACKNOWLEDGED
    assert (folder / "record.sqlite").read_bytes() == held


def test_a_mark_is_refused_and_the_trend_is_told(folder: Path) -> None:
    marking, asking = Onlooker(ManualClock()), Onlooker(ManualClock())
    marking.play(folder, MarkCommand(name="mixed"), from_s=5.0)
    asking.play(folder, TrendAsk(), from_s=5.0)
    assert marking.answers == [Answer(ok=False, text=NOT_HERE)]
    (trend,) = asking.answers
    assert isinstance(trend, Trend)


def test_the_panel_itself_shows_a_record(folder: Path, capfd: pytest.CaptureFixture[str]) -> None:
    def panel(socket: Path) -> list[str]:
        return [sys.executable, "-m", "dashboard", "--socket", str(socket), "--once"]

    with open_record(folder) as record:
        code = show(record, 600.0, panel)
    shown = capfd.readouterr().out
    assert code == 0, shown
    assert "replay x600" in shown
