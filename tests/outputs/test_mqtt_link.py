"""A connection to something that is no broker ends, whatever bytes come back."""

from __future__ import annotations

import random
import socket
from collections.abc import Iterator
from pathlib import Path

import pytest

from firmware_host.config.schema import Bench, BenchTable, Mqtt
from firmware_host.outputs.mqtt_link import BrokerLink
from firmware_host.outputs.mqtt_login import login_of
from firmware_host.outputs.mqtt_outbox import Outgoing

WILL = Outgoing(topic="bagvigil/north-bench/presence", payload=b"{}", retain=True)
LETS_IN = bytes.fromhex("2003000000")
"""CONNACK of MQTT 5.0: no session, success, no properties (section 3.2)."""
CONFIRMS = bytes.fromhex("40020001")
"""PUBACK of packet 1, success (section 3.4.2.1)."""
REFUSES = bytes.fromhex("4004000187" + "00")
"""PUBACK of packet 1, not authorized, no properties."""


class Impostor:
    """Listens like a broker and says what it is told to."""

    def __init__(self) -> None:
        self.server = socket.create_server(("127.0.0.1", 0))
        self.never, self.knock = socket.socketpair()
        mqtt = Mqtt(host="127.0.0.1", port=self.server.getsockname()[1])
        self.login = login_of(Bench(bench=BenchTable(name="north-bench")), mqtt, Path)

    def link(self, answer: bytes, *, then_closes: bool) -> BrokerLink:
        """Connect, answer, and turn until all of it is taken in."""
        link = BrokerLink(self.login, WILL, lambda _: None, is_first=True)
        link.open()
        line, _ = self.server.accept()
        with line:
            line.recv(4096)
            line.sendall(answer)
            if not then_closes:
                for _ in range(len(answer) + 1):
                    link.turn(0.0, self.never)
                return link
        for _ in range(len(answer) + 3):
            link.turn(0.01, self.never)
        return link

    def close(self) -> None:
        for end in (self.server, self.never, self.knock):
            end.close()


@pytest.fixture
def impostor() -> Iterator[Impostor]:
    made = Impostor()
    yield made
    made.close()


def test_a_broker_that_lets_us_in_is_up(impostor: Impostor) -> None:
    link = impostor.link(LETS_IN, then_closes=False)
    assert (link.is_up, link.had_memory, link.was_heard, link.ending) == (True, False, True, None)
    link.close()
    assert not link.is_up


@pytest.mark.parametrize(
    ("answer", "refusal"), [(CONFIRMS, ""), (REFUSES, "Not authorized"), (CONFIRMS * 2, "")]
)
def test_a_publish_is_confirmed_by_its_reason_code(
    impostor: Impostor, answer: bytes, refusal: str
) -> None:
    link = BrokerLink(impostor.login, WILL, lambda _: None, is_first=True)
    link.open()
    line, _ = impostor.server.accept()
    with line:
        line.sendall(LETS_IN)
        while not link.is_up:
            link.turn(1.0, impostor.never)
        number = link.publish(WILL)
        line.sendall(answer)
        while not link.confirmed:
            link.turn(1.0, impostor.never)
    assert link.confirmed[0] == (number, refusal)
    link.close()


def test_a_connection_cut_at_any_byte_ends_in_words(impostor: Impostor) -> None:
    talk = LETS_IN + CONFIRMS + REFUSES
    for length in range(len(talk)):
        link = impostor.link(talk[:length], then_closes=True)
        assert link.ending is not None
        assert link.ending.why.startswith("it ")


def test_no_bytes_do_more_than_end_the_connection(impostor: Impostor) -> None:
    chance = random.Random(11)
    for _ in range(300):
        first = chance.choice([b"", LETS_IN, b"\x20", b"\x40", b"\x30", b"\xe0", b"\x90"])
        answer = first + chance.randbytes(chance.randrange(1, 40))
        link = impostor.link(answer, then_closes=True)
        link.close()
        assert link.ending is not None
