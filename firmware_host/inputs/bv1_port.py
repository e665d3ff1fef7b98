"""One reader thread per port: open, read, stamp, hand on; open again when the port goes away.

The stamp is taken right after the read, so that nothing that happens later moves a sample. The
thread ends within half a second of the stop event, and says so when it ends by itself.
"""

from __future__ import annotations

import threading
from collections.abc import Callable, Sequence
from pathlib import Path

from firmware_host.config.schema import Port
from firmware_host.errors import BusyError, LinkLostError
from firmware_host.inputs.board_clock import JUMP_MS, STEP_MS, BoardClock
from firmware_host.inputs.bv1_board import Bv1Board
from firmware_host.inputs.messages import PortMessage
from firmware_host.inputs.port_channels import PortChannels
from firmware_host.inputs.port_thread import FIRST_RETRY_S, LAST_RETRY_S, PortThread
from firmware_host.inputs.timeline import Timeline
from firmware_host.inputs.transport import SerialTransport, Transport

LOOK_S = 0.5
"""While waiting, real time between looks whether the device has appeared."""
REOPEN_AFTER_S = 30.0
"""Real time of silence after which an open port is opened anew; some drivers only then recover."""


class Bv1Port(PortThread):
    """The reader of one port; `start`, and `join` once the stop event is set."""

    def __init__(
        self,
        port: Port,
        number: int,
        channels: PortChannels,
        *,
        timeline: Timeline,
        stop: threading.Event,
        put: Callable[[PortMessage], None],
        died: Callable[[str, str], None],
        open_transport: Callable[[], Transport] | None = None,
    ) -> None:
        """Prepare; nothing is opened before `start`. See `PortThread` for the arguments."""
        super().__init__(port.name, number, timeline=timeline, stop=stop, put=put, died=died)
        self._device = Path(port.device)
        self._open_transport = open_transport or (lambda: SerialTransport(port.device, port.baud))
        rate = max(timeline.clock.rate, 1.0)
        clock = BoardClock(step_ms=round(STEP_MS * rate), jump_ms=round(JUMP_MS * rate))
        self._board = Bv1Board(number, channels, clock, timeline.now_ms(), rate)
        self._reopen_after_ms = REOPEN_AFTER_S * 1000.0 * rate

    def _watch(self) -> None:
        delay_s = FIRST_RETRY_S
        while not self._stop.is_set():
            try:
                self._read_until_lost()
            except (LinkLostError, BusyError) as error:
                self._hand_on(self._board.lost(str(error), self._timeline.now_ms()))
            if self._board.heard_since_opening:
                delay_s = FIRST_RETRY_S
            self._wait(delay_s)
            delay_s = min(2.0 * delay_s, LAST_RETRY_S)

    def _read_until_lost(self) -> None:
        self._board.opened(self._timeline.now_ms())
        transport = self._open_transport()
        try:
            self._ask(transport)
            while not self._stop.is_set():
                self._read_once(transport)
        finally:
            _close(transport)

    def _read_once(self, transport: Transport) -> None:
        data = transport.read()
        now_ms = self._timeline.now_ms()
        self._hand_on(self._board.feed(data, now_ms))
        self._ask(transport)
        if self._board.silence_ms(now_ms) > self._reopen_after_ms:
            raise LinkLostError(
                f"{self._device} is open but silent for {REOPEN_AFTER_S:.0f} s; it is opened anew. "
                "Check the board's supply."
            )

    def _ask(self, transport: Transport) -> None:
        for line in self._board.questions(self._timeline.now_ms()):
            # A board that takes no commands still sends samples; silence is judged elsewhere.
            transport.write(line)

    def _hand_on(self, messages: Sequence[PortMessage]) -> None:
        for message in messages:
            self._put(message)

    def _wait(self, delay_s: float) -> None:
        """Wait in real time, but no longer than until the device appears."""
        was_there = self._device.exists()
        while delay_s > 0.0 and not self._stop.wait(min(delay_s, LOOK_S)):
            delay_s -= LOOK_S
            if not was_there and self._device.exists():
                return


def _close(transport: Transport) -> None:
    try:
        transport.close()
    except LinkLostError:
        return  # it is gone already, which is why it is closed
