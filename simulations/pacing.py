"""Run a rig against a clock: lines leave when their time has come, never earlier.

The clock may run at any rate. A run that falls behind (the machine slept) sends what it owes at
once; it never skips a sample, since a board would not.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator

from firmware_host.clock import Clock
from simulations.link import PtyLink
from simulations.rig import Happened, Line, Marked, Rig

LONGEST_NAP_S = 0.05
"""Real time; how long a word from the host may wait for its answer."""
LEAST_NAP_S = 0.0005
"""Real time; a due time that rounding puts a hair ahead must not turn into a busy loop."""


def run(
    rig: Rig, link: PtyLink, clock: Clock, *, wait_for_host: bool
) -> Iterator[Happened | Marked]:
    """Play the scenario over a link until it is over; give what happens as it happens.

    With `wait_for_host` the scenario's time begins when the host first speaks.
    """
    if wait_for_host:
        _await_host(rig, link, clock)
    began_s = clock.monotonic_s() - rig.time_s
    _say(rig, link, rig.board.hello())
    while not rig.over:
        now_s = min(clock.monotonic_s() - began_s, rig.scenario.head.length_s)
        for thing in rig.run_to(now_s):
            if isinstance(thing, Line):
                _send(rig, link, thing.data)
            else:
                _follow_plug(rig, link)
                yield thing
        answer(rig, link)
        nap_s = min(rig.next_due_s() - now_s, LONGEST_NAP_S * clock.rate)
        clock.sleep(max(nap_s, LEAST_NAP_S * clock.rate))


def answer(rig: Rig, link: PtyLink) -> bool:
    """Let the board hear the host; whether it heard anything."""
    said = link.read()
    for line in rig.board.hear(said, rig.time_s):
        _say(rig, link, line)
    return bool(said)


def _await_host(rig: Rig, link: PtyLink, clock: Clock) -> None:
    while not answer(rig, link):
        clock.sleep(LONGEST_NAP_S * clock.rate)


def _say(rig: Rig, link: PtyLink, line: bytes) -> None:
    """Put what the board says beside its samples on the wire."""
    rig.wire.send(rig.time_s, line)
    for data in rig.wire.due(rig.time_s):
        _send(rig, link, data)


def _send(rig: Rig, link: PtyLink, line: bytes) -> None:
    if not link.write(line):
        rig.board.overruns += 1


def _follow_plug(rig: Rig, link: PtyLink) -> None:
    change: Callable[[], None] = link.plug if rig.plugged else link.unplug
    change()
