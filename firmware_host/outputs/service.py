"""What the service manager is told: ready, alive, stopping, and a line for its status.

A datagram to `NOTIFY_SOCKET`, sent without waiting: a manager that does not read must not stop the
watch. Without that variable nothing is sent.
"""

from __future__ import annotations

import socket
from collections.abc import Mapping


class ServiceManager:
    """The one-way line to the service manager; does nothing when there is none."""

    def __init__(self, address: str | None) -> None:
        """Take the address as the manager gave it; a leading `@` means an abstract socket."""
        self._socket: socket.socket | None = None
        self._address = ""
        if address:
            self._address = "\0" + address[1:] if address.startswith("@") else address
            self._socket = socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM | socket.SOCK_CLOEXEC)
            self._socket.settimeout(0.0)

    @classmethod
    def from_environment(cls, environment: Mapping[str, str]) -> ServiceManager:
        """Find the address where the manager leaves it."""
        return cls(environment.get("NOTIFY_SOCKET"))

    def ready(self) -> None:
        """Say that the daemon watches."""
        self._send("READY=1")

    def starting(self, seconds: float) -> None:
        """Ask for this much more time to become ready."""
        self._send(f"EXTEND_TIMEOUT_USEC={round(seconds * 1e6)}")

    def alive(self) -> None:
        """Feed the watchdog; call it only after something was read, judged and stored."""
        self._send("WATCHDOG=1")

    def stopping(self) -> None:
        """Say that the daemon goes."""
        self._send("STOPPING=1")

    def status(self, text: str) -> None:
        """Show one line beside the service's name."""
        self._send("STATUS=" + " ".join(text.split()))

    def close(self) -> None:
        """Give the socket back."""
        if self._socket is not None:
            self._socket.close()
            self._socket = None

    def _send(self, line: str) -> None:
        if self._socket is None:
            return
        try:
            self._socket.sendto(line.encode(), self._address)
        except OSError:
            # A manager whose queue is full, or that is gone, is not the bench's trouble: its
            # own watchdog says so.
            return
