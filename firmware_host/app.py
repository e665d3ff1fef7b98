"""Composition root of the daemon: files in, parts put together, the loop run until told to stop.

The only module that knows every part of the shell. A job that was cut off is judged once more from
its record, so that the core stands where it stood; the time in between is noted as unseen. There
the ports are listened to before the core is loaded: that takes most of a start, and the part's
samples do not wait. A new job begins when all of it can: its first mark must find an ear.
"""

from __future__ import annotations

import gc
import logging
import os
import sys
import threading
from collections.abc import Callable, Iterator, Sequence
from contextlib import ExitStack
from pathlib import Path
from typing import TYPE_CHECKING

from firmware_host.clock import Clock
from firmware_host.config.schema import Bench
from firmware_host.errors import MonitorError, RecordError, TakeUpError
from firmware_host.inputs.buses import Buses, SystemBuses
from firmware_host.inputs.inbox import Inbox
from firmware_host.inputs.messages import ThreadDied
from firmware_host.inputs.port_channels import PortChannels, channels_by_port
from firmware_host.inputs.ports import ClaimedPort, PortThread, Shell, port_of
from firmware_host.inputs.timeline import Timeline
from firmware_host.outputs.record import RecordWriter
from firmware_host.outputs.record_reader import open_record
from firmware_host.outputs.record_schema import date_of
from firmware_host.outputs.status_socket import StatusSocket
from firmware_host.place import Place, Watch, find_place
from firmware_host.version import VERSION

if TYPE_CHECKING:
    from firmware_host.loop import Loop, Message
    from firmware_host.model.samples import Input
    from firmware_host.model.snapshot import Snapshot
    from firmware_host.outputs.mqtt_login import Login
    from firmware_host.outputs.mqtt_phone import Phone
    from firmware_host.outputs.publisher import About
    from firmware_host.outputs.signals import Signals

FIRST_COMMIT_WITHIN_S = 2.0
"""Real time; a disk that takes longer is told of as always."""
NOT_RUNNING = "Bag Vigil was not running"
SWITCH_S = 0.0005
"""A thread that has work to do takes its turn after so long; the interpreter's own 5 ms showed up
three times on an alarm's way to the phone, while the core was busy with what it shows."""

_LOG = logging.getLogger(__name__)


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
    person must mend, RecordError where the record does not take what must be stored, TakeUpError
    where the job that was cut off cannot be gone on with; all is put away then.
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
        recorder = _recorder(place, clock, None if phone is None else phone.wake)
        opened.callback(stop.set)
        helpers = [one for one in (phone, signals) if one is not None]
        sinks = [socket.publish, *(one.show for one in helpers)]
        try:
            loop = _put_together(
                watch, clock, stop, place, ports, inbox, socket, recorder, claims, sinks
            )
        except BaseException:
            recorder.close()
            raise
        socket.start()
        for helper in helpers:
            helper.start()
        if place.last_s is not None:
            go_on(loop.resume, recorder, place.folder, place.last_s)
        tell_folder(place.folder)
        gc.freeze()  # what was loaded by now lives as long as the watch: no need to search it again
        loop.run()
    _leave(place.folder)


def _recorder(place: Place, clock: Clock, wake: Callable[[], None] | None) -> RecordWriter:
    try:
        return RecordWriter(
            place.folder,
            clock,
            version=VERSION,
            zero_mono_s=place.zero_mono_s,
            events_stored=wake,
        )
    except RecordError as error:
        if place.last_s is None:
            raise
        raise TakeUpError(str(error)) from error


def go_on(
    resume: Callable[[Iterator[Input], float, str], None],
    recorder: RecordWriter,
    folder: Path,
    last_s: float,
) -> None:
    """Judge the record once more. Raises TakeUpError where it is not sound."""
    # A record that ended well takes up its log with the first commit, and nobody may read then.
    recorder.flush(FIRST_COMMIT_WITHIN_S)
    try:
        resume(_recorded(folder), last_s, NOT_RUNNING)
    except RecordError as error:
        raise TakeUpError(str(error)) from error


def _recorded(folder: Path) -> Iterator[Input]:
    with open_record(folder) as record:
        yield from record.inputs()


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
    """Join the parts and let the readers begin; what they read until it runs waits in the inbox."""
    groups = tuple(port.group for port in ports)
    timeline = Timeline(clock, place.zero_mono_s)
    readers = _readers(claims, ports, timeline, inbox, stop)
    began_ms = None
    if place.last_s is not None:
        began_ms = timeline.now_ms()
        _start(readers)
    # Loaded only now, while the readers of a job that goes on listen already: see the top.
    from firmware_host.core.monitor import Monitor
    from firmware_host.history.prior import with_prior
    from firmware_host.inputs.ticker import Ticker
    from firmware_host.loop import Loop
    from firmware_host.outputs.health import Health
    from firmware_host.outputs.publisher import Publisher
    from firmware_host.outputs.report_child import ReportChild
    from firmware_host.outputs.service import ServiceManager

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
        began_ms=began_ms,
    )
    if place.last_s is None:
        _start(readers)
    return loop


def _start(readers: Sequence[PortThread]) -> None:
    for reader in readers:
        reader.start()


def _leave(folder: Path) -> None:
    """Take the job's page into its record, seal the folder, and keep what the job taught."""
    from firmware_host.outputs.attachment import attach_page
    from firmware_host.outputs.planned import note_what_it_taught
    from firmware_host.outputs.seal import seal

    try:
        attach_page(folder)
        seal(folder)
    except MonitorError as error:  # the page is in the folder all the same
        _LOG.warning("%s", error)
    note_what_it_taught(folder)


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
    from firmware_host.outputs.publisher import About

    return About(
        version=VERSION,
        bench=watch.bench.bench.name,
        part=watch.job.job.part,
        folder=str(place.folder.absolute()),
        zero_wall=place.zero_wall,
        broker=watch.bench.mqtt.host if watch.bench.mqtt is not None else "",
    )
