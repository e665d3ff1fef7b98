"""The one seam to a stream of bytes: a serial port, or memory in a test.

Whatever goes wrong with a port leaves here as `LinkLostError` or `BusyError`, in words for the
person at the bench; nobody above knows which library reads the port.
"""

from __future__ import annotations

import errno
import os
import queue
import select
import termios
from contextlib import suppress
from pathlib import Path
from typing import NoReturn, Protocol

import serial

from firmware_host.errors import BusyError, LinkLostError

READ_TIMEOUT_S = 0.2
"""Real time that a read waits; setting it again would reconfigure the port, so it is set once."""
READ_BYTES = 4096
"""As much as the system keeps for a port."""
WRITE_TIMEOUT_S = 0.5
"""A board that takes nothing may hold a writer this long."""

PORT_ERRORS = (OSError, termios.error, TypeError, ValueError)
"""What the serial library raises when a port goes away under it; SerialException is an OSError.
TypeError and ValueError come from reading a handle that has just been closed."""


class Transport(Protocol):
    """Bytes in, bytes out."""

    def read(self) -> bytes:
        """Take what has arrived; empty when nothing did within the time-out.

        Raises LinkLostError when the stream is gone.
        """

    def write(self, data: bytes) -> bool:
        """Send; False when the other end did not take it in time.

        Raises LinkLostError when the stream is gone.
        """

    def cancel(self) -> None:
        """Make a read that waits return at once; the only call that another thread may make."""

    def close(self) -> None:
        """Give the stream back; a second call does nothing."""


class SerialTransport:
    """A serial port, held for ourselves alone."""

    def __init__(self, device: str, baud: int) -> None:
        """Open the port.

        Raises BusyError when another program holds it, LinkLostError when it cannot be opened.
        """
        self._device = device
        try:
            self._port = serial.Serial(
                device,
                baud,
                timeout=READ_TIMEOUT_S,
                write_timeout=WRITE_TIMEOUT_S,
                exclusive=True,
            )
            self._opened = os.fstat(self._port.fileno()).st_rdev
        except PORT_ERRORS as error:
            refuse_port(device, baud, error)

    def read(self) -> bytes:
        """See `Transport`.

        Straight from the handle, one wait and one read: the library's own read goes byte by byte
        where it cannot know how many will come.
        """
        try:
            # A closed port has no pipe; -1 is refused, and that is a port gone like any other.
            handle, cancelled = self._port.fileno(), self._port.pipe_abort_read_r or -1
            ready, _, _ = select.select([handle, cancelled], [], [], READ_TIMEOUT_S)
            if cancelled in ready:
                os.read(cancelled, READ_BYTES)
            data = os.read(handle, READ_BYTES) if handle in ready else None
        except BlockingIOError:
            return b""
        except PORT_ERRORS as error:
            raise self._lost(error) from error
        if data == b"":
            raise self._lost(OSError("it was unplugged"))
        if data is None:
            self._check_name()
        return data or b""

    def write(self, data: bytes) -> bool:
        """See `Transport`."""
        try:
            self._port.write(data)
        except serial.SerialTimeoutException:
            return False
        except PORT_ERRORS as error:
            raise self._lost(error) from error
        return True

    def cancel(self) -> None:
        """See `Transport`."""
        try:
            self._port.cancel_read()
        except PORT_ERRORS as error:
            raise self._lost(error) from error

    def close(self) -> None:
        """See `Transport`."""
        try:
            self._port.close()
        except PORT_ERRORS as error:
            raise self._lost(error) from error

    def _check_name(self) -> None:
        # A by-id name can be pointed at a new device while the old handle stays open and silent.
        try:
            now = Path(self._device).stat().st_rdev
        except OSError as error:
            raise LinkLostError(f"{self._device} is gone. Plug the board in again.") from error
        if now != self._opened:
            raise LinkLostError(f"{self._device} now names another device; it is opened anew.")

    def _lost(self, error: Exception) -> LinkLostError:
        return LinkLostError(f"{self._device} stopped answering ({error}). Check plug and cable.")


class PortOpener:
    """Opens one serial port whenever its reader asks; `claim` opens it ahead of the first time."""

    def __init__(self, device: str, baud: int) -> None:
        self._device, self._baud = device, baud
        self._claimed: Transport | None = None

    def __call__(self) -> Transport:
        """Give the port, opened. Raises as `SerialTransport` does."""
        claimed, self._claimed = self._claimed, None
        return claimed or SerialTransport(self._device, self._baud)

    def claim(self) -> None:
        """Open the port now, so that a program that holds it is named before a job begins.

        Raises BusyError. A port that is not there is left to its reader, which waits for it.
        """
        with suppress(LinkLostError):
            self._claimed = SerialTransport(self._device, self._baud)

    def close(self) -> None:
        """Give back a port that nobody asked for."""
        with suppress(LinkLostError):
            if self._claimed is not None:
                self._claimed.close()


def refuse_port(device: str, baud: int, error: Exception) -> NoReturn:
    """Say why a serial port could not be opened: BusyError, or LinkLostError."""
    code = getattr(error, "errno", None)
    if code in (errno.EAGAIN, errno.EBUSY):
        raise BusyError(
            f"{device} is held by {_holder(device)}. Stop that program, then try again."
        ) from error
    if code == errno.ENOENT:
        text = f"{device} is not there. Plug the board in, or correct device in the bench file."
    elif code in (errno.EACCES, errno.EPERM):
        text = f"{device} may not be opened by this user. Add the user to the port's group."
    else:
        text = f"{device} cannot be opened at {baud} baud ({error}). Check device and baud."
    raise LinkLostError(text) from error


def _holder(device: str) -> str:
    """Name who holds the lock on a device, as far as the system tells."""
    try:
        inode = Path(device).stat().st_ino
        locks = Path("/proc/locks").read_text(encoding="ascii").splitlines()
        for fields in (line.split() for line in locks):
            if fields[1:2] == ["FLOCK"] and fields[5].rsplit(":", 1)[-1] == str(inode):
                name = Path(f"/proc/{fields[4]}/comm").read_text(encoding="utf-8").strip()
                return f"{name} (process {fields[4]})"
    except (OSError, IndexError, ValueError):
        return "another program"
    return "another program"


class MemoryTransport:
    """A stream that a test feeds by hand."""

    def __init__(self, *chunks: bytes) -> None:
        self.written: list[bytes] = []
        self.takes_writes = True
        self.closed = False
        self._arriving: queue.SimpleQueue[bytes | None] = queue.SimpleQueue()
        for chunk in chunks:
            self.give(chunk)

    def give(self, data: bytes) -> None:
        """Let bytes arrive."""
        self._arriving.put(data)

    def lose(self) -> None:
        """Pull the plug: the next read finds it."""
        self._arriving.put(None)

    def read(self) -> bytes:
        """See `Transport`."""
        try:
            data = self._arriving.get(timeout=READ_TIMEOUT_S)
        except queue.Empty:
            return b""
        if data is None or self.closed:
            raise LinkLostError("the stream in memory ended")
        return data

    def write(self, data: bytes) -> bool:
        """See `Transport`."""
        if self.closed:
            raise LinkLostError("the stream in memory ended")
        self.written.append(data)
        return self.takes_writes

    def cancel(self) -> None:
        """See `Transport`."""
        self._arriving.put(b"")

    def close(self) -> None:
        """See `Transport`."""
        self.closed = True
