"""A record played to the panel at a pace: training on what really happened, without hardware.

The same core sees each recorded input when its time has come, and the panel is a client as on any
bench. An alarm may be acknowledged, which stays in memory; marks are the record's own. A span in
which nobody watched is skipped.
"""

from __future__ import annotations

import subprocess
import tempfile
import threading
from collections.abc import Callable, Sequence
from datetime import datetime, timedelta
from pathlib import Path

from firmware_host.clock import Clock, ScaledClock
from firmware_host.inputs.inbox import Inbox
from firmware_host.inputs.said import answer_to, input_of
from firmware_host.model.commands import AcknowledgeCommand, Answer, TrendAsk
from firmware_host.model.events import AlarmChanged, MarkTaken, PhaseEntered
from firmware_host.model.samples import Frame, Input, LinkChanged, Mark, Unseen
from firmware_host.model.snapshot import Snapshot
from firmware_host.model.trend import Trend
from firmware_host.outputs.publisher import About, Publisher
from firmware_host.outputs.record_reader import Record
from firmware_host.outputs.record_thread import Stored
from firmware_host.outputs.status_socket import Asked, StatusSocket
from firmware_host.replay import monitor_of
from firmware_host.version import VERSION

TURN_S = 0.05
"""Real time after which somebody who asks is heard at the latest."""
NOT_HERE = "This is a replay: what was marked then is marked again, and nothing else."
_HURRIED = (AlarmChanged, PhaseEntered, MarkTaken)


class JobClock:
    """The clock of a job that is played again: its dates are those of the record."""

    def __init__(self, pace: Clock, zero_wall: str) -> None:
        """Begin at the job's zero, at the rate of `pace`; without a date the present one counts."""
        self._pace = pace
        self.rate = pace.rate
        self._zero_s = pace.monotonic_s()
        self._zero_wall = datetime.fromisoformat(zero_wall) if zero_wall else pace.wall()

    def monotonic_s(self) -> float:
        """See `Clock`."""
        return self._pace.monotonic_s() - self._zero_s

    def asleep_s(self) -> float:
        """See `Clock`."""
        return 0.0

    def wall(self) -> datetime:
        """See `Clock`."""
        return self._zero_wall + timedelta(seconds=self.monotonic_s())

    def sleep(self, seconds: float) -> None:
        """See `Clock`."""
        self._pace.sleep(seconds)

    def skip_to(self, time_s: float) -> None:
        """Go on at this time of the job."""
        self._zero_s += self.monotonic_s() - time_s


class Player:
    """Plays one record to whoever looks at the sinks; `play` returns when it is left."""

    def __init__(
        self,
        record: Record,
        pace: Clock,
        inbox: Inbox[Asked],
        *,
        show: Callable[[Snapshot], None],
        answer: Callable[[int, Answer | Trend], None],
        is_left: Callable[[], bool],
    ) -> None:
        """Prepare. `is_left` tells whether nobody looks any more."""
        self._record = record
        self._core = monitor_of(record)
        self._clock = JobClock(pace, record.meta.zero_wall)
        self._publisher = Publisher(_about(record, pace.rate), self._clock, record.groups, [show])
        self._inbox, self._answer, self._is_left = inbox, answer, is_left
        self._frames = self._inputs = 0
        self._seen_s = 0.0

    def play(self) -> None:
        """Play to the end and stay there until it is left."""
        for given in self._record.inputs():
            if isinstance(given, Unseen):
                self._clock.skip_to(given.time_s)
            at_s = given.heard_s if isinstance(given, Mark) else given.time_s
            if not self._wait_until(at_s):
                return
            self._seen_s = max(self._seen_s, at_s)
            self._step(given)
        while self._wait_until(self._clock.monotonic_s() + TURN_S * self._clock.rate):
            self._publish(at_once=False)

    def _wait_until(self, at_s: float) -> bool:
        """Hear who asks until then; False once it is left."""
        while (left_s := at_s - self._clock.monotonic_s()) > 0.0:
            self._hear()
            if self._is_left():
                return False
            self._clock.sleep(min(left_s, TURN_S * self._clock.rate))
        return True

    def _hear(self) -> None:
        while (asked := self._inbox.take(0.0)) is not None:
            self._answer(asked.token, self._answered(asked))

    def _answered(self, asked: Asked) -> Answer | Trend:
        if isinstance(asked.command, TrendAsk):
            return self._core.trend()
        if not isinstance(asked.command, AcknowledgeCommand):
            return Answer(ok=False, text=NOT_HERE)
        given = input_of(asked.command, round(self._seen_s * 1000.0))
        events = self._core.step(given)
        self._publish(at_once=True)
        return answer_to(given, events)

    def _step(self, given: Input) -> None:
        self._inputs += 1
        self._frames += isinstance(given, Frame)
        if isinstance(given, LinkChanged):
            self._publisher.link(given)
        events = self._core.step(given)
        self._publish(at_once=any(isinstance(event, _HURRIED) for event in events))

    def _publish(self, *, at_once: bool) -> None:
        stored = Stored(frames=self._frames, inputs=self._inputs, at_s=self._clock.monotonic_s())
        self._publisher.publish(self._core.view, stored, at_once=at_once)


def show(record: Record, speed: float, panel: Callable[[Path], Sequence[str]]) -> int:
    """Play a record to a panel of its own; gives the panel's exit code.

    `speed` is in times of the world's pace; `panel` gives the command line for a socket.
    """
    stop, clock = threading.Event(), ScaledClock(speed)
    inbox: Inbox[Asked] = Inbox(stop)
    with tempfile.TemporaryDirectory(prefix="bagvigil-replay-") as folder:
        socket = StatusSocket(Path(folder) / "s.sock", clock, inbox.offer, lambda *_: stop.set())
        try:
            socket.start()
            with subprocess.Popen(panel(Path(folder) / "s.sock")) as child:
                try:
                    Player(
                        record,
                        clock,
                        inbox,
                        show=socket.publish,
                        answer=socket.answer,
                        is_left=lambda: stop.is_set() or child.poll() is not None,
                    ).play()
                finally:
                    child.terminate()
                return child.wait()
        finally:
            socket.close()


def _about(record: Record, speed: float) -> About:
    return About(
        version=VERSION,
        bench=f"replay x{speed:g}",
        part=record.meta.part,
        folder=str(record.folder.absolute()),
        zero_wall=record.meta.zero_wall,
    )
