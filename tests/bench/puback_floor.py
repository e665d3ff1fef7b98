"""The least that it costs to store a word and tell it: one fdatasync, one PUBACK."""

from __future__ import annotations

import os
import select
from pathlib import Path
from typing import Any

from paho.mqtt.client import Client
from paho.mqtt.enums import CallbackAPIVersion, MQTTProtocolVersion

from firmware_host.clock import SystemClock
from tests.outputs.broker import BENCH, PASSWORD

PAGE_BYTES = 4096 + 24
"""A page of the write-ahead log with its header (sqlite.org/fileformat2.html, section 4.1)."""
PAYLOAD = b"x" * 450
"""As long as an alarm."""
ANSWER_WITHIN_S = 5.0


class BareClient:
    """One thread, one socket: publish with QoS 1, and wait for the answer."""

    def __init__(self, port: int) -> None:
        self._clock = SystemClock()
        self._answers = 0
        self._client = Client(
            CallbackAPIVersion.VERSION2, client_id="floor", protocol=MQTTProtocolVersion.MQTTv5
        )
        self._client.username_pw_set("bench", PASSWORD)
        self._client.on_connect = self._count
        self._client.on_publish = self._count
        self._client.connect("127.0.0.1", port, 60)
        self._wait(1)

    def publish_s(self) -> float:
        """Publish once; gives the time to the PUBACK."""
        begun_s, before = self._clock.monotonic_s(), self._answers
        self._client.publish(f"bagvigil/{BENCH}/floor", PAYLOAD, qos=1)
        self._wait(before + 1)
        return self._clock.monotonic_s() - begun_s

    def close(self) -> None:
        """Take leave."""
        self._client.disconnect()

    def _wait(self, answers: int) -> None:
        until_s = self._clock.monotonic_s() + ANSWER_WITHIN_S
        while self._answers < answers:
            line: Any = self._client.socket()  # the library's own type tells less than a socket
            writes = [line] if self._client.want_write() else []
            ready, free, _ = select.select([line], writes, [], ANSWER_WITHIN_S)
            if ready:
                self._client.loop_read()
            if free:
                self._client.loop_write()
            self._client.loop_misc()
            assert self._clock.monotonic_s() < until_s, "the broker does not answer"

    def _count(self, *_: object) -> None:
        self._answers += 1


class BareFile:
    """A file on the record's disk that grows by a page, and is on the disk."""

    def __init__(self, path: Path) -> None:
        self._clock = SystemClock()
        self._handle = os.open(path, os.O_CREAT | os.O_WRONLY | os.O_APPEND, 0o600)

    def sync_s(self) -> float:
        """Append a page and sync; gives the time of the sync alone."""
        os.write(self._handle, bytes(PAGE_BYTES))
        begun_s = self._clock.monotonic_s()
        os.fdatasync(self._handle)
        return self._clock.monotonic_s() - begun_s

    def close(self) -> None:
        """Let go."""
        os.close(self._handle)
