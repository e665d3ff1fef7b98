"""`python -m tests.bench.puback_daemon FILE WORDS`: run `bagvigil WORDS`, and stamp each PUBACK.

The daemon as it is, but for its connection to the broker, which writes down the moment at which it
had read the confirmation of an alarm.
"""

from __future__ import annotations

import socket
import sys
from pathlib import Path

import msgspec

from firmware_host.cli import main
from firmware_host.clock import SystemClock
from firmware_host.outputs import mqtt_phone
from firmware_host.outputs.mqtt_link import BrokerLink
from firmware_host.outputs.mqtt_outbox import Outgoing


class StampedLink(BrokerLink):
    """Knows by its number which alarm a confirmation is of."""

    path = Path()
    clock = SystemClock()
    ids: dict[int, str] = {}  # noqa: RUF012 - one daemon, one connection at a time

    def publish(self, message: Outgoing) -> int:
        """Keep the alarm's id beside the number."""
        number = super().publish(message)
        if message.alarm_id is not None:
            self.ids[number] = msgspec.json.decode(message.payload)["id"]
        return number

    def turn(self, timeout_s: float, woken: socket.socket) -> None:
        """Stamp what the turn brought; the file is written once the stamp is taken."""
        super().turn(timeout_s, woken)
        now_s = self.clock.monotonic_s()
        for number, refusal in self.confirmed:
            if (told := self.ids.pop(number, None)) is not None and not refusal:
                with self.path.open("a", encoding="ascii") as stamps:
                    stamps.write(f"{told} {now_s:.6f}\n")


if __name__ == "__main__":
    StampedLink.path = Path(sys.argv[1])
    setattr(mqtt_phone, "BrokerLink", StampedLink)  # noqa: B010 - measured from outside
    sys.exit(main(sys.argv[2:]))
