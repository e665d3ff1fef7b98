"""The board's side of the serial line: samples, status, hello, and answers to the host.

Knows no pin and no clock: both are passed in. The same file runs under MicroPython on the board
and under CPython; every line equals, byte for byte, what the host's encoder writes.
"""

from binascii import crc32

from hardware.board.chips import Chip, read_raw

PROTOCOL = 1
FIRMWARE = "1.0"
STATUS_PERIOD_MS = 10000
LEAST_PERIOD_MS, MOST_PERIOD_MS = 20, 60000
FRAMING = 11
"""Bytes about a body: `@`, `*`, eight of CRC, line feed."""
LONGEST_LINE = 240
"""Bytes from `@` to the line feed, both counted."""


class Pins:
    """What the board can do; the real one is in `main.py`."""

    def now_ms(self) -> int:
        """Milliseconds since boot, never wrapping."""
        raise NotImplementedError

    def heard(self) -> bytes:
        """Take what the host has sent; empty when nothing came."""
        raise NotImplementedError

    def send(self, data: bytes) -> bool:
        """Send a line; False when the host does not take it."""
        raise NotImplementedError

    def supply_mv(self) -> int:
        """Measure the board's own supply."""
        raise NotImplementedError

    def blink(self) -> None:
        """Show which board this is."""
        raise NotImplementedError


def frame(body: str) -> bytes:
    """Put a body between `@` and its CRC-32."""
    return f"@{body}*{crc32(body.encode()):08X}\n".encode()


def opened(line: bytes) -> str:
    """Take the body out of a line that begins with its `@`; empty unless it is as it was sent."""
    line = line.rstrip(b"\r")
    if not 10 <= len(line) < LONGEST_LINE:
        return ""
    body = line[1:-9]
    if line[-9:] != f"*{crc32(body):08X}".encode():
        return ""
    return "".join([chr(byte) for byte in body])


def _refuse_too_long(hello: str, chips: list[Chip]) -> None:
    """Raise ValueError where a line of these raws could be longer than any host takes.

    Said at boot: a line that grows too long later would be lost, and with it every channel.
    """
    sample = len("S,65535,4294967295") + sum([1 + chip.longest for chip in chips])
    longest = max(len(hello), sample) + FRAMING
    if longest > LONGEST_LINE:
        raise ValueError(
            f"{len(chips)} raws make a line of up to {longest} bytes, the most is {LONGEST_LINE}: "
            "put some on another board"
        )


class Board:
    """One board from boot to boot; `turn` is called again and again."""

    def __init__(
        self, pins: Pins, chips: list[Chip], uid: str, boot_id: str, period_ms: int = 500
    ) -> None:
        """Say hello. Raises ValueError for more raws than a line holds."""
        self._pins, self._chips = pins, chips
        self._uid, self._boot_id = uid, boot_id
        _refuse_too_long(self._hello(), chips)
        self._period_ms = period_ms
        self._seq = self._status_seq = self._overruns = 0
        self._rest = b""
        now_ms = pins.now_ms()
        self._sample_due_ms = now_ms + period_ms
        self._status_due_ms = now_ms + STATUS_PERIOD_MS
        self._send(self._hello())

    def turn(self) -> None:
        """Hear the host, then send what is due."""
        self._hear(self._pins.heard())
        now_ms = self._pins.now_ms()
        if now_ms >= self._status_due_ms:
            self._status_due_ms += STATUS_PERIOD_MS
            self._send(self._status(now_ms))
        if now_ms >= self._sample_due_ms:
            self._send(self._sample(now_ms))

    def _hello(self) -> str:
        kinds = "".join(["," + chip.kind for chip in self._chips])
        count = len(self._chips)
        return f"H,{PROTOCOL},{FIRMWARE},{self._boot_id},{self._uid},{count}{kinds}"

    def _sample(self, now_ms: int) -> str:
        late_ms = now_ms - self._sample_due_ms
        missed = late_ms // self._period_ms
        self._overruns += missed
        self._sample_due_ms += (missed + 1) * self._period_ms
        self._seq = (self._seq + 1) % 65536
        raws = [read_raw(chip) for chip in self._chips]
        return f"S,{self._seq},{now_ms % 4294967296},{','.join(raws)}"

    def _status(self, now_ms: int) -> str:
        self._status_seq = (self._status_seq + 1) % 65536
        supply_mv = self._pins.supply_mv()
        return f"Z,{self._status_seq},{now_ms // 1000},{self._overruns},{supply_mv}"

    def _send(self, body: str) -> None:
        if not self._pins.send(frame(body)):
            self._overruns += 1

    def _hear(self, data: bytes) -> None:
        lines = (self._rest + data).split(b"\n")
        self._rest = lines.pop()[-LONGEST_LINE:]
        for line in lines:
            start = line.rfind(b"@")
            command = opened(line[start:]) if start >= 0 else ""
            if command:
                self._obey(command)

    def _obey(self, command: str) -> None:
        if command == "?H":
            self._send(self._hello())
        elif command == "I":
            self._pins.blink()
            self._send("A,I,1")
        elif command.startswith("R,"):
            self._send(f"A,R,{int(self._set_period(command[2:]))}")

    def _set_period(self, text: str) -> bool:
        """Take a new period between samples; False for one that this board cannot keep."""
        if not text.isdigit() or len(text) > 10:
            return False
        period_ms = int(text)
        if not LEAST_PERIOD_MS <= period_ms <= MOST_PERIOD_MS:
            return False
        self._period_ms = period_ms
        self._sample_due_ms = min(self._sample_due_ms, self._pins.now_ms() + period_ms)
        return True
