"""Composition root of the daemon: files in, parts put together, the loop run until told to stop.

The only module that knows every part of the shell. A job that was cut off is taken up again when
the same job.toml is watched within twelve hours; its record is judged once more, so that the core
stands where it stood, and the time in between is noted as unseen.
"""

from __future__ import annotations

import gc
import logging
import os
import sys
import threading
from collections.abc import Callable, Sequence
from contextlib import ExitStack
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

from firmware_host.clock import Clock, boot_id
from firmware_host.config.load import load_bench, load_job
from firmware_host.config.schema import Bench, JobDescription
from firmware_host.core.monitor import Monitor
from firmware_host.errors import MonitorError
from firmware_host.history.prior import RatePrior, with_prior
from firmware_host.inputs.buses import Buses, SystemBuses
from firmware_host.inputs.inbox import Inbox
from firmware_host.inputs.messages import ThreadDied
from firmware_host.inputs.port_channels import PortChannels, channels_by_port
from firmware_host.inputs.ports import ClaimedPort, PortThread, Shell, port_of
from firmware_host.inputs.ticker import Ticker
from firmware_host.inputs.timeline import Timeline
from firmware_host.loop import Loop, Message
from firmware_host.model.samples import Group
from firmware_host.model.snapshot import Snapshot
from firmware_host.outputs.attachment import attach_page
from firmware_host.outputs.health import Health
from firmware_host.outputs.job_folder import create_job_folder, find_open_job, job_sha256
from firmware_host.outputs.planned import note_what_it_taught, plan_at_start
from firmware_host.outputs.publisher import About, Publisher
from firmware_host.outputs.record import RecordWriter
from firmware_host.outputs.record_reader import open_record
from firmware_host.outputs.record_resume import ResumePoint, resume
from firmware_host.outputs.record_schema import create_record, date_of, describe
from firmware_host.outputs.report_child import ReportChild
from firmware_host.outputs.seal import seal
from firmware_host.outputs.service import ServiceManager
from firmware_host.outputs.status_socket import StatusSocket
from firmware_host.version import VERSION

if TYPE_CHECKING:
    from firmware_host.outputs.mqtt_login import Login
    from firmware_host.outputs.mqtt_phone import Phone
    from firmware_host.outputs.signals import Signals

RESUME_WITHIN_S = 12.0 * 3600.0
"""A job left alone for longer is not gone on with: the same file is then a new pour."""
NOT_RUNNING = "Bag Vigil was not running"
SWITCH_S = 0.0005
"""A thread that has work to do takes its turn after so long; the interpreter's own 5 ms showed up
three times on an alarm's way to the phone, while the core was busy with what it shows."""

_LOG = logging.getLogger(__name__)


@dataclass(frozen=True, slots=True, kw_only=True)
class Watch:
    """What a person asked to be watched."""

    bench_path: Path
    bench: Bench
    job_path: Path
    job: JobDescription
    job_bytes: bytes

    def beside_bench(self, path: str) -> Path:
        """Paths in a bench file count from the bench file's own folder."""
        return self.bench_path.parent / path


def read_watch(bench_path: Path, job_path: Path) -> Watch:
    """Read and check both files. Raises InputError with every problem of the first bad one."""
    bench, job = load_bench(bench_path), load_job(job_path)
    return Watch(
        bench_path=bench_path,
        bench=bench,
        job_path=job_path,
        job=job,
        job_bytes=job_path.read_bytes(),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """Where the job's record is, and where its time line stands."""

    folder: Path
    zero_mono_s: float
    zero_wall: str
    last_s: float | None
    """Latest time that the record knows; None for a job that begins now."""
    learnt: RatePrior | None
    """What was known of the resin at the pour."""


def find_place(watch: Watch, groups: tuple[Group, ...], clock: Clock, *, fresh: bool) -> Place:
    """Take up the job that was cut off, or begin a new folder; `fresh` always begins."""
    base = watch.beside_bench(watch.bench.record.folder)
    if not fresh:
        found = find_open_job(base, watch.job_bytes)
        for problem in found.problems:
            _LOG.warning("%s", problem)
        if found.folder is not None and (place := _taken_up(found.folder, groups, clock)):
            return place
    return _begun(watch, base, groups, clock)


def _begun(watch: Watch, base: Path, groups: tuple[Group, ...], clock: Clock) -> Place:
    folder = create_job_folder(base, watch.job.job.part, clock.wall(), watch.job_bytes)
    planned = plan_at_start(watch.job, base, clock.wall().date())
    meta = describe(
        clock,
        plan_sheet=planned.sheet,
        learnt=planned.learnt,
        version=VERSION,
        part=watch.job.job.part,
        bench_text=watch.bench_path.read_text(encoding="utf-8-sig"),
        job_sha256=job_sha256(watch.job_bytes),
        groups=groups,
    )
    create_record(folder, meta)
    return Place(
        folder=folder,
        zero_mono_s=meta.zero_mono_s,
        zero_wall=meta.zero_wall,
        last_s=None,
        learnt=planned.learnt,
    )


def _taken_up(folder: Path, groups: tuple[Group, ...], clock: Clock) -> Place | None:
    point = resume(folder)
    zero_mono_s = _zero_now(point, clock)
    last_s = point.last_time_s
    gap_s = clock.monotonic_s() - zero_mono_s - (last_s or 0.0)
    if gap_s > RESUME_WITHIN_S:
        hours = gap_s / 3600.0
        _LOG.warning("%s was left alone for %.0f h: a new job begins.", folder, hours)
        return None
    if point.meta.groups != groups:
        _LOG.warning("%s was watched with other channels: a new job begins.", folder)
        return None
    return Place(
        folder=folder,
        zero_mono_s=zero_mono_s,
        zero_wall=point.meta.zero_wall,
        last_s=last_s,
        learnt=point.meta.learnt,
    )


def _zero_now(point: ResumePoint, clock: Clock) -> float:
    """Find the job's zero on this boot's monotonic clock; across a reboot by wall time.

    A board without a battery clock may boot in the past: the job then goes on right after its
    last reading, and the length of the gap is not known.
    """
    session = point.session
    last_s = point.last_time_s or 0.0
    now_s = clock.monotonic_s()
    if session is not None and session.boot_id == boot_id() and boot_id():
        return session.zero_mono_s
    if point.wall is None or session is None:
        return now_s - last_s
    passed_s = (clock.wall() - datetime.fromisoformat(point.wall.wall)).total_seconds()
    since_zero_s = point.wall.mono_s - session.zero_mono_s + passed_s
    return now_s - max(since_zero_s, last_s)


def run_watch(
    watch: Watch,
    clock: Clock,
    stop: threading.Event,
    tell_folder: Callable[[Path], None],
    *,
    fresh: bool = False,
    buses: Callable[[], Buses] = SystemBuses,
) -> None:
    """Watch until `stop` is set; `buses` gives the SPI and I2C of each port that has one.

    Raises BusyError for a socket, port or folder that somebody else holds, InputError for what a
    person must mend, RecordError where the record does not take what must be stored.
    """
    sys.setswitchinterval(SWITCH_S)
    ports = channels_by_port(watch.bench)
    groups = tuple(port.group for port in ports)
    login = _login(watch)
    inbox: Inbox[Message] = Inbox(stop)

    def died(thread: str, why: str) -> None:
        inbox.put(ThreadDied(thread=thread, why=why))

    with ExitStack() as opened:
        socket = StatusSocket(watch.beside_bench(watch.bench.socket.path), clock, inbox.offer, died)
        opened.callback(socket.close)
        signals = _signals(watch.bench, inbox, died, opened)
        claims = _claimed(watch.bench, ports, buses, opened)
        place = find_place(watch, groups, clock, fresh=fresh)
        phone = None if login is None else _phone(login, place, clock, inbox, died)
        if phone is not None:
            opened.callback(phone.close)
        recorder = RecordWriter(
            place.folder,
            clock,
            version=VERSION,
            zero_mono_s=place.zero_mono_s,
            events_stored=None if phone is None else phone.wake,
        )
        opened.callback(stop.set)
        helpers = [one for one in (phone, signals) if one is not None]
        sinks = [socket.publish, *(one.show for one in helpers)]
        try:
            loop = _put_together(
                watch, clock, stop, place, ports, inbox, socket, recorder, claims, sinks
            )
            tell_folder(place.folder)
        except BaseException:
            recorder.close()
            raise
        socket.start()
        for helper in helpers:
            helper.start()
        if place.last_s is not None:
            with open_record(place.folder) as record:
                loop.resume(record.inputs(), place.last_s, NOT_RUNNING)
        gc.freeze()  # what was loaded by now lives as long as the watch: no need to search it again
        loop.run()
    _keep_page(place.folder)
    note_what_it_taught(place.folder)


def _put_together(
    watch: Watch,
    clock: Clock,
    stop: threading.Event,
    place: Place,
    ports: list[PortChannels],
    inbox: Inbox[Message],
    socket: StatusSocket,
    recorder: RecordWriter,
    claims: Sequence[ClaimedPort],
    sinks: Sequence[Callable[[Snapshot], None]],
) -> Loop:
    """Join the parts and let the readers begin; what they read waits in the inbox."""
    groups = tuple(port.group for port in ports)
    timeline = Timeline(clock, place.zero_mono_s)
    readers = _readers(claims, ports, timeline, inbox, stop)
    loop = Loop(
        core=Monitor(
            with_prior(watch.job, place.learnt), groups, place.learnt, date_of(place.zero_wall)
        ),
        timeline=timeline,
        inbox=inbox,
        ticker=Ticker(timeline, groups),
        recorder=recorder,
        publisher=Publisher(_about(watch, place), clock, groups, sinks, lambda: socket.clients > 0),
        health=Health(ServiceManager.from_environment(os.environ), clock),
        answer=socket.answer,
        tell=[ReportChild(place.folder).tell],
        readers=readers,
        stop=stop,
    )
    for reader in readers:
        reader.start()
    return loop


def _keep_page(folder: Path) -> None:
    """Take the job's page into its record and seal the folder, now that nobody writes there."""
    try:
        attach_page(folder)
        seal(folder)
    except MonitorError as error:  # the page is in the folder all the same
        _LOG.warning("%s", error)


def _login(watch: Watch) -> Login | None:
    """Check [mqtt] before anything begins; None where the bench file has none."""
    if watch.bench.mqtt is None:
        return None
    # A bench without [mqtt] never pays for TLS and the client library.
    from firmware_host.outputs.mqtt_login import login_of

    return login_of(watch.bench, watch.bench.mqtt, watch.beside_bench)


def _signals(
    bench: Bench, inbox: Inbox[Message], died: Callable[[str, str], None], opened: ExitStack
) -> Signals | None:
    """Open buzzer, lamps and button; None where the bench file has none."""
    if bench.signals is None:
        return None
    # A bench without [signals] never pays for it.
    from firmware_host.outputs.signals import Devices, Signals

    signals = Signals(Devices(bench.signals), inbox.offer, died)
    opened.callback(signals.close)
    return signals


def _phone(
    login: Login,
    place: Place,
    clock: Clock,
    inbox: Inbox[Message],
    died: Callable[[str, str], None],
) -> Phone:
    from firmware_host.outputs.mqtt_start import phone_of

    job_now_s = Timeline(clock, place.zero_mono_s).now_s
    return phone_of(
        login,
        place.folder,
        place.zero_wall,
        clock,
        job_now_s=job_now_s,
        offer=inbox.offer,
        died=died,
    )


def _readers(
    claims: Sequence[ClaimedPort],
    ports: list[PortChannels],
    timeline: Timeline,
    inbox: Inbox[Message],
    stop: threading.Event,
) -> list[PortThread]:
    def died(thread: str, why: str) -> None:
        inbox.put(ThreadDied(thread=thread, why=why))

    shell = Shell(timeline=timeline, stop=stop, put=inbox.put, died=died)
    pairs = zip(claims, ports, strict=True)
    return [claim.reader(number, channels, shell) for number, (claim, channels) in enumerate(pairs)]


def _claimed(
    bench: Bench, ports: list[PortChannels], buses: Callable[[], Buses], opened: ExitStack
) -> list[ClaimedPort]:
    """Open what can be opened before a job is begun: a port has one owner.

    Raises BusyError naming the program that holds a port, InputError naming what is not there.
    """
    by_name = {port.name: port for port in bench.port}
    claims = []
    for channels in ports:
        claim = port_of(by_name[channels.group.name], bench, buses)
        opened.callback(claim.close)
        claim.claim()
        claims.append(claim)
    return claims


def _about(watch: Watch, place: Place) -> About:
    return About(
        version=VERSION,
        bench=watch.bench.bench.name,
        part=watch.job.job.part,
        folder=str(place.folder.absolute()),
        zero_wall=place.zero_wall,
        broker=watch.bench.mqtt.host if watch.bench.mqtt is not None else "",
    )
