"""One notice sent to the broker, and whether it took it: for `check`, never during a job."""

from __future__ import annotations

import socket
from dataclasses import replace

from firmware_host.clock import Clock
from firmware_host.model.wire import SCHEMA, NoticeMessage, encode
from firmware_host.outputs.mqtt_link import BrokerLink
from firmware_host.outputs.mqtt_login import Login
from firmware_host.outputs.mqtt_outbox import Outgoing

PATIENCE_S = 5.0
TURN_S = 0.2
EXPIRY_S = 60
"""A phone that was away must not be told of a trial that is long over."""


def send_trial(login: Login, clock: Clock) -> str:
    """Send the notice; why it did not arrive, or nothing where the broker has confirmed it."""
    # The daemon's own name would throw a daemon out that is at work.
    login = replace(login, client_id=f"{login.client_id}-check", accepts_acks=False)
    notice = _notice(login, clock)
    link = BrokerLink(login, notice, lambda _: None, is_first=True)
    here, there = socket.socketpair()
    with here, there:
        link.open()
        why = _sent(link, notice, clock, here)
        link.close()
    return why


def _sent(link: BrokerLink, notice: Outgoing, clock: Clock, never: socket.socket) -> str:
    end_s = clock.monotonic_s() + PATIENCE_S * clock.rate
    is_sent = False
    while clock.monotonic_s() < end_s:
        if link.ending is not None:
            return link.ending.why
        if link.is_up and not is_sent:
            link.publish(notice)
            is_sent = True
        if link.confirmed:
            return link.confirmed[0][1]
        link.turn(TURN_S, never)
    return f"no answer within {PATIENCE_S:.0f} s"


def _notice(login: Login, clock: Clock) -> Outgoing:
    said = NoticeMessage(
        schema=SCHEMA,
        job="check",
        title="Test notice",
        text="The bench is being checked: this line is a test, nothing is wrong.",
        priority="notice",
        id=f"check-{clock.wall().isoformat(timespec='seconds')}",
    )
    return Outgoing(topic=login.topics.notice, payload=encode(said), expiry_s=EXPIRY_S)
