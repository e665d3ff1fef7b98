"""Framing of the serial line, both directions: `@` BODY `*` CRC-32 and a line feed.

Pure: bytes in, messages out, for any chunking alike. No bytes can raise, a line that fails its
CRC is counted and never used, and what waits for its line feed stays within 240 bytes.
"""

from __future__ import annotations

from binascii import crc32
from collections.abc import Sequence

from hardware.messages import (
    Hello,
    Message,
    Reply,
    Status,
    hello_body,
    is_from_a_board,
    read_command,
    read_message,
    reply_body,
    sample_body,
    status_body,
)

LONGEST_LINE = 240
"""Bytes from `@` to the line feed, both counted."""
_SHORTEST_LINE = 10
"""`@`, `*` and 8 digits, without the line feed."""


def encode(body: str) -> bytes:
    r"""Frame a body.

    >>> encode("S,1,1000,32768,01901900,00010001")
    b'@S,1,1000,32768,01901900,00010001*14176374\n'
    """
    if not (body.isascii() and (body.isprintable() or not body)) or "@" in body:
        raise ValueError(f"line body {body!r} must be printable ASCII without '@'")
    content = body.encode("ascii")
    line = b"@%b*%08X\n" % (content, crc32(content))
    if len(line) > LONGEST_LINE:
        raise ValueError(
            f"line of {len(line)} bytes is longer than {LONGEST_LINE}; send fewer channels in one"
        )
    return line


def encode_sample(seq: int, t_ms: int, raws: Sequence[str]) -> bytes:
    """Frame one reading of every channel."""
    return encode(sample_body(seq, t_ms, raws))


def encode_hello(hello: Hello) -> bytes:
    """Frame who the board is."""
    return encode(hello_body(hello))


def encode_status(status: Status) -> bytes:
    """Frame the board's health."""
    return encode(status_body(status))


def encode_reply(reply: Reply) -> bytes:
    """Frame the answer to a command."""
    return encode(reply_body(reply))


def encode_command(command: str) -> bytes:
    r"""Frame what the host asks: `?H`, `R,<period_ms>` or `I`.

    >>> encode_command("R,500")
    b'@R,500*B52A5A14\n'
    """
    if read_command(command) is None:
        raise ValueError(f"command {command!r} is none of ?H, R,<period_ms>, I")
    return encode(command)


class BodyReader:
    """Cut bytes into lines and lines into bodies, whatever the line carries."""

    def __init__(self) -> None:
        self._rest = b""
        self.damaged = 0
        """Lines with an `@` that are not what was sent."""
        self.ignored = 0
        """Lines without an `@`: a boot message, the end of a line joined half way."""

    @property
    def waiting(self) -> int:
        """Bytes kept until their line feed comes."""
        return len(self._rest)

    def feed(self, data: bytes) -> list[str]:
        """Take bytes as they come; return the intact bodies of the lines they complete."""
        lines = (self._rest + data).split(b"\n")
        self._rest = _worth_keeping(lines.pop())
        bodies = []
        for line in lines:
            body = self._body(line)
            if body is not None:
                bodies.append(body)
        return bodies

    def _body(self, line: bytes) -> str | None:
        start = line.rfind(b"@")
        if start < 0:
            self.ignored += bool(line.strip())
            return None
        body = _open(line[start:])
        self.damaged += body is None
        return body


class FrameReader:
    """Turn a board's bytes into its messages."""

    def __init__(self) -> None:
        self._bodies = BodyReader()
        self._ill_formed = 0
        self._strange = 0

    @property
    def damaged(self) -> int:
        """Lines that failed their CRC or length, or are intact but ill formed."""
        return self._bodies.damaged + self._ill_formed

    @property
    def ignored(self) -> int:
        """Lines without an `@`, and intact ones that no board of this protocol says."""
        return self._bodies.ignored + self._strange

    @property
    def waiting(self) -> int:
        """Bytes kept until their line feed comes."""
        return self._bodies.waiting

    def feed(self, data: bytes) -> list[Message]:
        """Take bytes as they come; return the messages they complete, in order."""
        messages = []
        for body in self._bodies.feed(data):
            message = read_message(body)
            if message is not None:
                messages.append(message)
            elif is_from_a_board(body):
                self._ill_formed += 1
            else:
                self._strange += 1
        return messages


def _open(line: bytes) -> str | None:
    """Take the body out of a line that begins with its `@`; None unless it is as it was sent."""
    if len(line) >= LONGEST_LINE:
        return None
    if line.endswith(b"\r"):
        line = line[:-1]
    if len(line) < _SHORTEST_LINE:
        return None
    content = line[1:-9]
    if line[-9:] != b"*%08X" % crc32(content) or not content.isascii():
        return None
    body = content.decode("ascii")
    return body if body.isprintable() else None


def _worth_keeping(rest: bytes) -> bytes:
    """Keep of an unfinished line only what can still decide how it will be judged.

    From its last `@`, and no more than proves it too long; without one, a single byte says that
    the line is not blank.
    """
    start = rest.rfind(b"@")
    if start < 0:
        return rest.strip()[:1]
    return rest[start : start + LONGEST_LINE]
