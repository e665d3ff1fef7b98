"""Listens to every port of a bench for a while, without a job: for `check` and `calibrate`."""

from __future__ import annotations

import threading
from collections.abc import Callable
from contextlib import ExitStack

from firmware_host.channels.bench_check import HeardPort
from firmware_host.clock import Clock
from firmware_host.config.schema import Bench
from firmware_host.errors import BusyError, InputError
from firmware_host.inputs.buses import Buses, SystemBuses
from firmware_host.inputs.messages import Arrived, PortCounts, PortMessage
from firmware_host.inputs.port_channels import PortChannels, channels_by_port
from firmware_host.inputs.ports import Shell, port_of
from firmware_host.inputs.timeline import Timeline
from firmware_host.model.samples import LinkChanged


def listen(
    bench: Bench,
    clock: Clock,
    span_s: float,
    buses: Callable[[], Buses] = SystemBuses,
    *,
    patience: Callable[[threading.Event, float], object] = threading.Event.wait,
) -> list[HeardPort]:
    """Read all ports side by side for `span_s`; what each said, in the bench file's order.

    `patience` lets that much real time pass. A port that is held or whose package is missing is
    not read; its error is what it said.
    """
    stop = threading.Event()
    timeline = Timeline(clock, clock.monotonic_s())
    listeners = []
    with ExitStack() as opened:
        for number, channels in enumerate(channels_by_port(bench)):
            listener = _Listener(bench, channels, buses)
            listeners.append(listener)
            listener.begin(number, timeline, stop, opened)
        opened.callback(stop.set)
        patience(stop, span_s / clock.rate)
    return [listener.heard(span_s) for listener in listeners]


class _Listener:
    """One port and what it has told."""

    def __init__(self, bench: Bench, channels: PortChannels, buses: Callable[[], Buses]) -> None:
        self._channels = channels
        port = next(one for one in bench.port if one.name == channels.group.name)
        self._claim = port_of(port, bench, buses)
        self._told: list[PortMessage] = []
        self._refusal = ""
        self._is_busy = False

    def begin(
        self, number: int, timeline: Timeline, stop: threading.Event, opened: ExitStack
    ) -> None:
        opened.callback(self._claim.close)
        try:
            self._claim.claim()
        except (BusyError, InputError) as error:
            self._refusal = str(error)
            self._is_busy = isinstance(error, BusyError)
            return
        shell = Shell(timeline=timeline, stop=stop, put=self._told.append, died=self._note_death)
        reader = self._claim.reader(number, self._channels, shell)
        opened.callback(reader.join)
        reader.start()

    def heard(self, span_s: float) -> HeardPort:
        links = [one for one in self._told if isinstance(one, LinkChanged)]
        counts = [one for one in self._told if isinstance(one, PortCounts)]
        return HeardPort(
            name=self._channels.group.name,
            channels=self._channels.group.channels,
            period_s=self._channels.group.period_s or span_s,
            span_s=span_s,
            frames=tuple(one.frame for one in self._told if isinstance(one, Arrived)),
            up=bool(links) and links[-1].up,
            link_text=self._refusal or (links[-1].text if links else ""),
            is_busy=self._is_busy,
            damaged=counts[-1].damaged if counts else 0,
            lost=counts[-1].lost if counts else 0,
        )

    def _note_death(self, thread: str, why: str) -> None:
        self._refusal = f"{thread} ended: {why}."
