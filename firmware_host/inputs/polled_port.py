"""The thread of a port that the computer asks itself: chips on SPI or I2C, gauges on Modbus.

The counterpart of `Bv1Port`, with the same promises: a sample is stamped when it is asked for, a
port that goes away is opened again, and the end of the thread is told.
"""

from __future__ import annotations

import threading
from collections.abc import Callable

from firmware_host.errors import BusyError, LinkLostError
from firmware_host.inputs.messages import Arrived, PortCounts, PortMessage
from firmware_host.inputs.port_channels import PortChannels
from firmware_host.inputs.port_thread import FIRST_RETRY_S, LAST_RETRY_S, PortThread
from firmware_host.inputs.raw_reader import RawReader, answered
from firmware_host.inputs.timeline import Timeline
from firmware_host.model.samples import LinkChanged

SILENT_PERIODS = 10
LEAST_SILENT_S = 5.0
"""A port of which no part answered for this long, or ten periods, is told as lost."""
COUNTS_EVERY_S = 1.0


class PolledPort(PortThread):
    """The reader of one polled port; `start`, and `join` once the stop event is set."""

    def __init__(
        self,
        number: int,
        channels: PortChannels,
        *,
        timeline: Timeline,
        stop: threading.Event,
        put: Callable[[PortMessage], None],
        died: Callable[[str, str], None],
        open_reader: Callable[[], RawReader],
    ) -> None:
        """Prepare; nothing is opened before `start`. See `PortThread` for the arguments."""
        name = channels.group.name
        super().__init__(name, number, timeline=timeline, stop=stop, put=put, died=died)
        self._channels = channels
        self._open_reader = open_reader
        self._period_ms = max(1, round(1000.0 * (channels.group.period_s or 0.0)))
        silent_s = max(SILENT_PERIODS * self._period_ms / 1000.0, LEAST_SILENT_S)
        self._silent_ms = 1000.0 * timeline.at_least_real_s(silent_s)
        self._counts_ms = 1000.0 * timeline.at_least_real_s(COUNTS_EVERY_S)
        self._told_counts = PortCounts(group=number)
        self._frames = self._lost = 0
        self._heard_ms = self._counts_told_ms = self._last_ms = timeline.now_ms()
        self._link: LinkChanged | None = None

    def _watch(self) -> None:
        delay_s = FIRST_RETRY_S
        while not self._stop.is_set():
            opened_ms = self._timeline.now_ms()
            try:
                self._read_until_lost()
            except (LinkLostError, BusyError) as error:
                self._say(str(error), up=False)
            if self._heard_ms > opened_ms:
                delay_s = FIRST_RETRY_S
            self._stop.wait(delay_s)
            delay_s = min(2.0 * delay_s, LAST_RETRY_S)

    def _read_until_lost(self) -> None:
        reader = self._open_reader()
        try:
            due_ms = self._timeline.now_ms()
            while not self._stop.is_set():
                self._sample(reader)
                due_ms = self._next_due_ms(due_ms)
                wait_ms = due_ms - self._timeline.now_ms()
                self._stop.wait(max(0.0, wait_ms / 1000.0 / self._timeline.clock.rate))
        finally:
            reader.close()

    def _sample(self, reader: RawReader) -> None:
        asked_ms = max(self._timeline.now_ms(), self._last_ms + 1)
        raws = reader.read()
        arrived_ms = max(self._timeline.now_ms(), asked_ms)
        self._last_ms = asked_ms
        if any(map(answered, raws)):
            self._heard_ms = arrived_ms
            self._say("its parts answer.", up=True)
        self._frames += 1
        frame = self._channels.frame(raws, self._number, asked_ms)
        self._put(Arrived(frame=frame, raw=",".join(raws), arrived_s=arrived_ms / 1000.0))
        self._look_after(arrived_ms)

    def _next_due_ms(self, due_ms: int) -> int:
        """Tell when to ask next; turns that have passed meanwhile are counted as lost."""
        late_ms = max(0, self._timeline.now_ms() - due_ms)
        missed = late_ms // self._period_ms
        self._lost += missed
        return due_ms + (missed + 1) * self._period_ms

    def _look_after(self, now_ms: int) -> None:
        silence_ms = now_ms - self._heard_ms
        if silence_ms >= self._silent_ms and (self._link is None or self._link.up):
            self._say(
                f"no part of it answered for {silence_ms / 1000.0:.0f} s "
                f"(limit {self._silent_ms / 1000.0:.0f} s). Check wiring, addresses and supply.",
                up=False,
            )
        counts = PortCounts(group=self._number, frames=self._frames, lost=self._lost)
        if counts != self._told_counts and now_ms - self._counts_told_ms >= self._counts_ms:
            self._told_counts, self._counts_told_ms = counts, now_ms
            self._put(counts)

    def _say(self, text: str, *, up: bool) -> None:
        before = self._link
        if before is not None and (before.up, before.text) == (up, text):
            return
        self._link = LinkChanged(self._timeline.now_s(), self._number, up, text)
        self._put(self._link)
