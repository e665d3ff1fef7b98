"""Outages that last: a broker that is absent, killed, frozen or that refuses what it is told.

Each takes as long as a person may be left in the dark, so the four run side by side, each with a
broker of its own; a test waits for its own one.
"""

from __future__ import annotations

from collections.abc import Iterator
from concurrent.futures import Future, ThreadPoolExecutor
from contextlib import contextmanager
from pathlib import Path

import pytest

from firmware_host.outputs.mqtt_cursor import Cursor, read_cursor
from tests.model.test_wire import snapshot
from tests.outputs.broker import BENCH, RIGHTS, Broker, Listener
from tests.outputs.mqtt_parts import TelledBench, alarm_ids, ids_of, real_s
from tests.waiting import until

SEEN_WITHIN_S = 10.0
BACK_WITHIN_S = 20.0
PATIENCE_S = 60.0
NEVER_WAITS_S = 0.005
"""Nine of ten calls of the core; the tenth may have lost its processor to another test."""
NO_ALARMS = f"""
user bench
topic write bagvigil/{BENCH}/presence
user phone
topic read bagvigil/#
"""


@contextmanager
def watched(place: Path, rights: str = RIGHTS) -> Iterator[tuple[Broker, TelledBench, Listener]]:
    """Give a broker, a bench that tells it, and somebody who listens."""
    place.mkdir()
    made = Broker(place / "broker")
    made.let(rights)
    with made as broker, Listener(broker.port) as listener:
        bench = TelledBench(place, broker.port)
        try:
            until(lambda: bench.told.words == [True])
            yield broker, bench, listener
        finally:
            bench.close()


def absent(place: Path) -> None:
    place.mkdir()
    broker = Broker(place / "broker")
    began_s = real_s()
    bench = TelledBench(place, broker.port)
    bench.raises(1, 30)
    assert real_s() - began_s < 1.0
    until(lambda: bench.told.words == [False], SEEN_WITHIN_S)
    assert "nothing listens there; start the broker" in bench.told.last
    with broker, Listener(broker.port) as listener:
        until(lambda: bench.told.words == [False, True], BACK_WITHIN_S)
        bench.close()
        assert alarm_ids(listener) == ids_of(bench.folder, 1, 30)


def killed(place: Path) -> None:
    with watched(place) as (broker, bench, listener):
        bench.raises(1, 20)
        until(lambda: len(alarm_ids(listener)) == 20)
        broker.kill()
        bench.raises(21, 40)
        until(lambda: bench.told.words == [True, False], SEEN_WITHIN_S)
        bench.raises(41, 60)
        broker.start()
        until(lambda: len(alarm_ids(listener)) == 60, BACK_WITHIN_S)
        until(lambda: bench.told.words == [True, False, True], BACK_WITHIN_S)
        assert alarm_ids(listener) == ids_of(bench.folder, 1, 60)
        with Listener(broker.port, "latecomer") as late:
            until(lambda: alarm_ids(late))
            assert alarm_ids(late) == ids_of(bench.folder, 60, 60)


def frozen(place: Path) -> None:
    with watched(place) as (broker, bench, listener):
        broker.freeze()
        began_s = real_s()
        took_s = []
        for number in range(1, 101):
            before_s = real_s()
            bench.raises(number, number)
            bench.phone.show(snapshot())
            took_s.append(real_s() - before_s)
        until(lambda: bench.told.words == [True, False], SEEN_WITHIN_S)
        assert real_s() - began_s < SEEN_WITHIN_S
        assert sorted(took_s)[len(took_s) * 9 // 10] < NEVER_WAITS_S
        broker.thaw()
        until(lambda: len(alarm_ids(listener)) == 100, BACK_WITHIN_S)
        assert alarm_ids(listener) == ids_of(bench.folder, 1, 100)


def refused(place: Path) -> None:
    with watched(place, NO_ALARMS) as (broker, bench, listener):
        bench.raises(1, 3)
        until(lambda: bench.told.words == [True, False])
        assert f"does not take bagvigil/{BENCH}/alarm/vacuum_lost: Not auth" in bench.told.last
        assert read_cursor(bench.folder) == Cursor()
        broker.let(RIGHTS)
        broker.reload()
        until(lambda: bench.told.words == [True, False, True], BACK_WITHIN_S)
        assert alarm_ids(listener) == ids_of(bench.folder, 1, 3)


@pytest.fixture(scope="module")
def outages(tmp_path_factory: pytest.TempPathFactory) -> Iterator[dict[str, Future[None]]]:
    place = tmp_path_factory.mktemp("outages")
    with ThreadPoolExecutor(4) as pool:
        yield {
            play.__name__: pool.submit(play, place / play.__name__)
            for play in (absent, killed, frozen, refused)
        }


def test_a_broker_that_is_absent_at_the_start_is_an_alarm_and_holds_nothing_up(
    outages: dict[str, Future[None]],
) -> None:
    outages["absent"].result(PATIENCE_S)


def test_a_broker_killed_in_the_middle_of_an_alarm_is_told_what_it_missed(
    outages: dict[str, Future[None]],
) -> None:
    outages["killed"].result(PATIENCE_S)


def test_a_frozen_broker_is_seen_within_ten_seconds_and_nobody_waits_for_it(
    outages: dict[str, Future[None]],
) -> None:
    outages["frozen"].result(PATIENCE_S)


def test_a_publish_that_the_broker_refuses_is_an_alarm_until_it_is_taken(
    outages: dict[str, Future[None]],
) -> None:
    outages["refused"].result(PATIENCE_S)
