"""One connection to the broker, MQTT version 5, driven by its owner's thread.

The only module that knows the client library. Each connection is a new client, so that the library
never sends again by itself: what is sent, and in which order, is the outbox's business. Whether a
publish arrived is told by its confirmation's reason code and by nothing else; version 3.1.1 would
confirm a refused one as if it had been taken.
"""

from __future__ import annotations

import select
import socket
import ssl
import struct
from collections import deque
from collections.abc import Callable
from contextlib import suppress
from typing import Any

from paho.mqtt.client import Client, ConnectFlags, DisconnectFlags, MQTTMessage
from paho.mqtt.enums import CallbackAPIVersion, MQTTProtocolVersion
from paho.mqtt.packettypes import PacketTypes
from paho.mqtt.properties import Properties
from paho.mqtt.reasoncodes import ReasonCode

from firmware_host.model.wire import LONGEST_ACK, SCHEMA
from firmware_host.outputs.mqtt_login import Login
from firmware_host.outputs.mqtt_outbox import Outgoing
from firmware_host.outputs.mqtt_path import Ending
from firmware_host.outputs.mqtt_reasons import ending_of_error, ending_of_reason

CONNECT_TIMEOUT_S = 5.0
KEEPALIVE_S = 4
LONGEST_PACKET = LONGEST_ACK + 1024
"""Bytes; the broker must not send us anything longer, and withholds it."""
SESSION_KEPT_S = 86_400
MOST_QUEUED = 8
"""Far above the two publishes that are ever under way."""
_MOST_READS = 64

_GARBLED = (ValueError, LookupError, TypeError, AssertionError, struct.error)
"""What the library's parser trips over when bytes make no sense."""


class BrokerLink:
    """Made for one try; `open` it, `turn` it until it has ended."""

    def __init__(
        self, login: Login, will: Outgoing, on_ack: Callable[[bytes], None], *, is_first: bool
    ) -> None:
        """`will` is what the broker says for us should we vanish.

        A first connection begins with a clean session, unless acknowledgements may be waiting.
        """
        self.is_up = False
        self.had_memory = False
        """Whether the broker still knew our session."""
        self.was_heard = False
        """Set by every sign of life; its reader takes it back."""
        self.ending: Ending | None = None
        self.confirmed: deque[tuple[int, str]] = deque()
        """Number of each publish that was answered, and why not where it was refused."""
        self._login = login
        self._on_ack = on_ack
        self._clean = is_first and not login.accepts_acks
        self._client = _client(login, will)
        self._client.on_connect = self._on_connect
        self._client.on_disconnect = self._on_disconnect
        self._client.on_publish = self._on_publish
        self._client.on_message = self._on_message

    def open(self) -> None:
        """Reach the broker and ask to be let in; sets `ending` where it cannot be reached."""
        asked = _properties(PacketTypes.CONNECT)
        asked.MaximumPacketSize = LONGEST_PACKET
        asked.ReceiveMaximum = MOST_QUEUED
        asked.SessionExpiryInterval = SESSION_KEPT_S
        try:
            self._client.connect(
                self._login.host,
                self._login.port,
                KEEPALIVE_S,
                clean_start=self._clean,
                properties=asked,
            )
        except (OSError, ValueError) as error:  # ValueError: a host that is no name
            self._end(ending_of_error(error))

    def turn(self, timeout_s: float, woken: socket.socket) -> None:
        """Wait for the broker or for `woken`, and do what is due."""
        try:
            self._turn(timeout_s, woken)
        except (OSError, *_GARBLED) as error:
            self._end(Ending(why=f"it does not speak MQTT 5 ({error})", is_refusal=False))

    def publish(self, message: Outgoing) -> int:
        """Hand over a message; `confirmed` tells its number once it is answered."""
        words = _properties(PacketTypes.PUBLISH)
        words.ContentType = "application/json"
        words.PayloadFormatIndicator = 1
        words.UserProperty = ("schema", str(SCHEMA))
        if message.expiry_s is not None:
            words.MessageExpiryInterval = message.expiry_s
        sent = self._client.publish(
            message.topic, message.payload, qos=1, retain=message.retain, properties=words
        )
        return sent.mid

    def give_up(self, why: str) -> None:
        """End a connection that leads nowhere; the broker then speaks the last will."""
        self._end(Ending(why=why, is_refusal=False))

    def close(self) -> None:
        """Take leave, so that the last will is not spoken."""
        with suppress(OSError, *_GARBLED):
            self._client.disconnect()
        self._end(Ending(why="it was left", is_refusal=False))

    def _turn(self, timeout_s: float, woken: socket.socket) -> None:
        line: Any = self._client.socket()  # the library's own type tells less than a socket
        if line is None:
            self.give_up("it went away")
            return
        writes = [line] if self._client.want_write() else []
        ready, free, _ = select.select([line, woken], writes, [], timeout_s)
        if line in ready:
            self.was_heard = True
            self._read(line)
        if free:
            self._client.loop_write()
        self._client.loop_misc()

    def _read(self, line: Any) -> None:  # noqa: ANN401 - as above
        for _ in range(_MOST_READS):
            self._client.loop_read()
            # What TLS has taken off the wire already wakes nobody.
            if not (isinstance(line, ssl.SSLSocket) and line.fileno() >= 0 and line.pending()):
                return

    def _on_connect(
        self, client: Client, held: object, flags: ConnectFlags, reason: ReasonCode, _: object
    ) -> None:
        del held
        if reason.is_failure:
            self._end(ending_of_reason(reason, self._login))
            return
        self.is_up, self.had_memory = True, flags.session_present
        if self._login.accepts_acks:
            client.subscribe(self._login.topics.ack, qos=1)

    def _on_disconnect(
        self, client: Client, held: object, flags: DisconnectFlags, reason: ReasonCode, _: object
    ) -> None:
        del client, held
        if flags.is_disconnect_packet_from_server:
            self._end(ending_of_reason(reason, self._login))
        else:
            self._end(Ending(why=f"it went away ({reason})", is_refusal=False))

    def _on_publish(
        self, client: Client, held: object, mid: int, reason: ReasonCode, _: object
    ) -> None:
        del client, held
        self.confirmed.append((mid, str(reason) if reason.is_failure else ""))

    def _on_message(self, client: Client, held: object, message: MQTTMessage) -> None:
        del client, held
        # A retained word would be said again at every connection: nobody says it now.
        if self._login.accepts_acks and not message.retain:
            self._on_ack(bytes(message.payload))

    def _end(self, ending: Ending) -> None:
        self.is_up = False
        # The library tells a loss twice, the second time with less.
        self.ending = self.ending or ending
        line: Any = self._client.socket()
        if line is not None:
            with suppress(OSError):
                line.close()


def _properties(kind: int) -> Properties:
    return Properties(kind)  # type: ignore[no-untyped-call]  # the library's only untyped one


def _client(login: Login, will: Outgoing) -> Client:
    client = Client(
        CallbackAPIVersion.VERSION2,
        client_id=login.client_id,
        protocol=MQTTProtocolVersion.MQTTv5,
        reconnect_on_failure=False,
    )
    client.connect_timeout = CONNECT_TIMEOUT_S
    client.max_queued_messages = MOST_QUEUED
    client.will_set(will.topic, will.payload, qos=1, retain=will.retain)
    if login.user is not None or login.password is not None:
        client.username_pw_set(login.user, login.password)
    if login.tls is not None:
        client.tls_set_context(login.tls)
    return client
