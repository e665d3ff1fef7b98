"""The queue into the core: bounded, and plain about what happens when it is full."""

from __future__ import annotations

import threading

from firmware_host.inputs.inbox import Inbox


def test_a_full_inbox_makes_a_reader_wait_and_nothing_is_dropped() -> None:
    inbox: Inbox[int] = Inbox(threading.Event(), most=2)

    def feed() -> None:
        for number in range(50):
            inbox.put(number)

    feeder = threading.Thread(target=feed, name="feeder")
    feeder.start()
    heard = [inbox.take(5.0) for _ in range(50)]
    feeder.join()
    assert heard == list(range(50))
    assert inbox.is_empty


def test_a_full_inbox_refuses_who_may_not_wait_and_lets_a_stopping_reader_go() -> None:
    stop = threading.Event()
    inbox: Inbox[int] = Inbox(stop, most=1)
    assert inbox.offer(1)
    assert not inbox.offer(2)
    stop.set()
    inbox.put(3)
    assert (inbox.take(0.0), inbox.take(0.0)) == (1, None)
