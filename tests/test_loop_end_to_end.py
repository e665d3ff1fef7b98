"""Board, reader, loop, record and socket together, over a pty."""

from __future__ import annotations

import threading
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest

from firmware_host.clock import SystemClock
from firmware_host.inputs.bv1_port import Bv1Port
from firmware_host.inputs.inbox import Inbox
from firmware_host.inputs.messages import ThreadDied
from firmware_host.inputs.socket_client import ask_snapshot, send_mark
from firmware_host.inputs.ticker import Ticker
from firmware_host.inputs.timeline import Timeline
from firmware_host.loop import Core, Loop, Message
from firmware_host.model.commands import Answer, MarkCommand
from firmware_host.model.samples import Frame, Input, LinkChanged, Mark, Tick, Unseen
from firmware_host.outputs.health import Health
from firmware_host.outputs.job_folder import create_job_folder, job_sha256
from firmware_host.outputs.publisher import Publisher
from firmware_host.outputs.record import RecordWriter
from firmware_host.outputs.record_reader import open_record
from firmware_host.outputs.record_schema import create_record, describe
from firmware_host.outputs.record_verify import find_changes
from firmware_host.outputs.service import ServiceManager
from firmware_host.outputs.status_socket import StatusSocket
from tests.inputs.boards import PORT, RAWS, hello, port_channels
from tests.inputs.cable import Cable
from tests.test_loop import ABOUT, FakeCore
from tests.waiting import until

JOB_TEXT = b'[job]\npart = "drone fairing"\n'


class Daemon:
    """The parts put together, as the program does it."""

    def __init__(
        self, cable: Cable, folder: Path, zero_mono_s: float, judge: Core | None = None
    ) -> None:
        clock = SystemClock()
        stop = threading.Event()
        timeline = Timeline(clock, zero_mono_s)
        inbox: Inbox[Message] = Inbox(stop)
        channels = port_channels()
        groups = (channels.group,)

        def died(thread: str, why: str) -> None:
            inbox.put(ThreadDied(thread=thread, why=why))

        self.stop = stop
        self.core = FakeCore()
        self.path = folder.parents[1] / "s.sock"  # a path of some hundred bytes is the most
        self.socket = StatusSocket(self.path, clock, inbox.offer, died)
        self.reader = Bv1Port(
            replace(PORT, device=str(cable.name)),
            0,
            channels,
            timeline=timeline,
            stop=stop,
            put=inbox.put,
            died=died,
        )
        self.loop = Loop(
            core=judge or self.core,
            timeline=timeline,
            inbox=inbox,
            ticker=Ticker(timeline, groups),
            recorder=RecordWriter(folder, clock, version="0.1.0", zero_mono_s=zero_mono_s),
            publisher=Publisher(ABOUT, clock, groups, [self.socket.publish]),
            health=Health(ServiceManager(None), clock),
            answer=self.socket.answer,
            readers=[self.reader],
            stop=stop,
        )
        self.thread = threading.Thread(target=self.loop.run, name="core")

    def start(self) -> None:
        self.socket.start()
        self.reader.start()
        self.thread.start()

    def heard(self, cable: Cable, more_than: int = 0) -> bool:
        cable.say()
        return self.frames() > more_than

    def greeted(self, cable: Cable, since: int = 0) -> bool:
        """Whether the board's hello came through; a sample said now is not lost at the opening."""
        cable.say(hello())
        return any(isinstance(one, LinkChanged) and one.up for one in self.core.told[since:])

    def frames(self) -> int:
        return sum(isinstance(given, Frame) for given in self.core.told)

    def end(self) -> None:
        self.stop.set()
        self.thread.join()
        self.socket.close()


@pytest.fixture
def cable(tmp_path: Path) -> Iterator[Cable]:
    made = Cable(tmp_path / "board")
    made.plug()
    yield made
    made.close()


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return new_folder(tmp_path)


def new_folder(tmp_path: Path) -> Path:
    clock = SystemClock()
    made = create_job_folder(tmp_path / "jobs", "drone fairing", clock.wall(), JOB_TEXT)
    meta = describe(
        clock,
        version="0.1.0",
        part="drone fairing",
        bench_text="",
        job_sha256=job_sha256(JOB_TEXT),
        groups=(port_channels().group,),
    )
    create_record(made, meta)
    return made


def zero_mono_s(folder: Path) -> float:
    with open_record(folder) as record:
        return record.meta.zero_mono_s


def recorded(folder: Path) -> list[Input]:
    with open_record(folder) as record:
        return list(record.inputs())


def test_what_the_core_saw_is_what_the_record_holds_through_loss_and_return(
    cable: Cable, folder: Path
) -> None:
    daemon = Daemon(cable, folder, zero_mono_s(folder))
    daemon.start()
    cable.say(hello())
    until(lambda: daemon.heard(cable))
    mark = MarkCommand(name="pump_on", ago_s=0.5)
    assert send_mark(daemon.path, mark) == Answer(ok=True, text="pump_on is noted.")
    assert any(isinstance(given, Mark) for given in recorded(folder))
    cable.unplug()
    until(lambda: any(isinstance(given, Tick) for given in daemon.core.told))
    before = daemon.frames()
    cable.plug()
    until(lambda: daemon.heard(cable, more_than=before))
    until(lambda: ask_snapshot(daemon.path).stored_rows > before)
    (link,) = ask_snapshot(daemon.path).links
    daemon.end()
    assert (link.up, link.text) == (True, "the board answers.")
    assert recorded(folder) == daemon.core.told
    assert find_changes(folder) == ()
    assert not daemon.path.exists()


def test_frames_are_recorded_with_their_raws(cable: Cable, folder: Path) -> None:
    daemon = Daemon(cable, folder, zero_mono_s(folder))
    daemon.start()
    until(lambda: daemon.heard(cable))
    daemon.end()
    with open_record(folder) as record:
        stored = [one for one in record.stored_inputs() if isinstance(one.given, Frame)]
    assert {one.raw for one in stored} == {",".join(RAWS)}
    assert all(one.arrived_s is not None for one in stored)


def test_a_job_that_is_taken_up_again_goes_on_in_the_same_record(
    cable: Cable, folder: Path
) -> None:
    zero_s = zero_mono_s(folder)
    first = Daemon(cable, folder, zero_s)
    first.start()
    until(lambda: first.greeted(cable))
    cable.say()
    until(lambda: first.frames() == 1)
    first.end()
    earlier = recorded(folder)

    second = Daemon(cable, folder, zero_s)
    second.loop.resume(earlier, earlier[-1].time_s, "Bag Vigil was not running")
    second.start()
    until(lambda: second.greeted(cable, since=len(earlier)))
    cable.say()
    until(lambda: second.frames() == 2)
    second.end()
    assert recorded(folder) == second.core.told
    assert second.core.told[: len(earlier)] == earlier
    gap = second.core.told[len(earlier)]
    assert isinstance(gap, Unseen)
    assert gap.start_s == earlier[-1].time_s
    times_s = [given.time_s for given in second.core.told if isinstance(given, Frame)]
    assert times_s == sorted(set(times_s))


def test_a_missing_port_leaves_marks_and_the_work_clock_running(cable: Cable, folder: Path) -> None:
    cable.unplug()
    daemon = Daemon(cable, folder, zero_mono_s(folder))
    daemon.start()
    until(lambda: any(isinstance(given, Tick) for given in daemon.core.told))
    assert send_mark(daemon.path, MarkCommand(name="mixed")).ok
    daemon.end()
    kinds = {type(given) for given in daemon.core.told}
    assert kinds == {LinkChanged, Tick, Mark}
