"""The thread of a polled port over readers that a test holds in its hand."""

from __future__ import annotations

import threading
from collections.abc import Callable

from firmware_host.clock import Clock, ManualClock, ScaledClock
from firmware_host.errors import BusyError, LinkLostError
from firmware_host.inputs.messages import Arrived, PortCounts, PortMessage
from firmware_host.inputs.polled_port import PolledPort
from firmware_host.inputs.raw_reader import RawReader
from firmware_host.inputs.timeline import Timeline
from firmware_host.model.samples import Frame, LinkChanged
from tests.inputs.boards import RAWS, port_channels
from tests.waiting import until


class Parts:
    """Answers the same until told otherwise."""

    def __init__(self, raws: tuple[str, ...] = RAWS) -> None:
        self.raws = list(raws)
        self.error: Exception | None = None
        self.reads = self.closes = 0
        self.at_read: Callable[[], None] = lambda: None

    def read(self) -> list[str]:
        self.reads += 1
        self.at_read()
        if self.error is not None:
            raise self.error
        return self.raws

    def close(self) -> None:
        self.closes += 1


class Watch:
    """A reader thread and what it has told."""

    def __init__(self, open_reader: Callable[[], RawReader], clock: Clock | None = None) -> None:
        self.stop = threading.Event()
        self.told: list[PortMessage] = []
        self.deaths: list[tuple[str, str]] = []
        clock = clock or ScaledClock(100.0)
        self.port = PolledPort(
            3,
            port_channels(),
            timeline=Timeline(clock, clock.monotonic_s()),
            stop=self.stop,
            put=self.told.append,
            died=lambda thread, why: self.deaths.append((thread, why)),
            open_reader=open_reader,
        )
        self.port.start()

    def frames(self) -> list[Frame]:
        return [one.frame for one in tuple(self.told) if isinstance(one, Arrived)]

    def links(self) -> list[tuple[bool, str]]:
        return [(one.up, one.text) for one in tuple(self.told) if isinstance(one, LinkChanged)]

    def end(self) -> None:
        self.stop.set()
        self.port.join()


def test_words_are_read_stamped_and_handed_on() -> None:
    parts = Parts()
    watch = Watch(lambda: parts, ManualClock())
    until(lambda: len(watch.frames()) == 1)
    watch.end()
    (arrived,) = [one for one in watch.told if isinstance(one, Arrived)]
    assert arrived.frame == Frame(0.001, 3, (49997.7, 298.15), (None, None))
    assert arrived.raw == ",".join(RAWS)
    assert watch.links() == [(True, "its parts answer.")]
    assert (parts.closes, watch.deaths) == (1, [])


def test_times_rise_and_keep_the_period() -> None:
    parts = Parts()
    watch = Watch(lambda: parts, ScaledClock(50.0))
    until(lambda: len(watch.frames()) >= 20)
    watch.end()
    times_s = [frame.time_s for frame in watch.frames()]
    assert times_s == sorted(set(times_s))
    assert (times_s[-1] - times_s[0]) / (len(times_s) - 1) >= 0.49


def test_turns_that_a_slow_part_costs_are_counted() -> None:
    clock = ManualClock()
    parts = Parts()

    def slow() -> None:
        clock.sleep(1.6)
        if parts.reads == 3:
            watch.stop.set()

    parts.at_read = slow
    watch = Watch(lambda: parts, clock)
    watch.port.join()
    counts = [one for one in watch.told if isinstance(one, PortCounts)]
    assert counts[-1].frames == 3
    assert counts[-1].lost == 5  # 0.5, 1.0 and 1.5 s, then 2.5 and 3.0 s


def test_a_port_of_which_nothing_answers_is_told_as_lost_and_as_back() -> None:
    parts = Parts(("!121", "-", "!1"))
    watch = Watch(lambda: parts, ScaledClock(20.0))
    until(lambda: watch.links())
    assert watch.links()[0][0] is False
    assert "no part of it answered for" in watch.links()[0][1]
    parts.raws = list(RAWS)
    until(lambda: len(watch.links()) == 2)
    watch.end()
    assert watch.links()[1] == (True, "its parts answer.")
    assert len([up for up, _ in watch.links() if not up]) == 1


def test_a_port_that_goes_away_is_opened_again() -> None:
    lost, back = Parts(), Parts()
    lost.error = LinkLostError("the line is gone. Plug it in.")
    openings = [lost, back]
    watch = Watch(lambda: openings.pop(0))
    until(lambda: watch.frames())
    watch.end()
    assert watch.links() == [(False, "the line is gone. Plug it in."), (True, "its parts answer.")]
    assert lost.closes == 1


def test_a_port_that_is_held_is_tried_again() -> None:
    tries: list[int] = []
    parts = Parts()

    def opened() -> RawReader:
        tries.append(1)
        if len(tries) < 2:
            raise BusyError("somebody holds it")
        return parts

    watch = Watch(opened)
    until(lambda: watch.frames())
    watch.end()
    assert watch.links()[0] == (False, "somebody holds it")


def test_a_reader_that_breaks_says_so() -> None:
    parts = Parts()
    parts.error = RuntimeError("bent pin")
    watch = Watch(lambda: parts, ManualClock())
    watch.port.join()
    assert watch.deaths == [("port-board", "RuntimeError('bent pin')")]
    assert watch.links() == [
        (
            False,
            "its reader failed (RuntimeError('bent pin')). "
            "Start bagvigil again; the rest is watched on.",
        )
    ]
    assert not watch.port.is_alive
