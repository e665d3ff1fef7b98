"""What can happen to bytes on their way: each mutation takes sound lines and gives a harmed stream.

All randomness comes from the generator that is handed in, so a seed names its stream.
"""

from __future__ import annotations

import random
from binascii import crc32
from collections.abc import Callable, Iterator

from tests.bench.fuzz_words import STRANGE

FLOODS = (b"\x00", b"\xff", b"@", b"\n", b"*", b"\r", b"@\n", b"@S,", b"U")
CRUMBS = (b"@", b"*", b"\n", b"\r", b"S,", b"12,", b"@S,1,2,3*", b"00000000", b"\x00", b"\xff")
NEAREST = 8
"""Lines that trade places: no more than a board's own queue could hold back."""
NUMBERS = (b"99999999999999999999", b"-1", b"65536", b"4294967296", b"1e9", b"0x10", b"", b" 1")
Mutation = Callable[[list[bytes], random.Random], bytes]


def frame(body: bytes) -> bytes:
    """Frame a body that a board would never send, with a CRC that is right."""
    return b"@%b*%08X\n" % (body, crc32(body))


def untouched(lines: list[bytes], rng: random.Random) -> bytes:  # noqa: ARG001 - one signature
    """Leave the lines as they are."""
    return b"".join(lines)


def bits_flipped(lines: list[bytes], rng: random.Random) -> bytes:
    """Flip up to three bits of every line."""
    harmed = bytearray()
    for line in lines:
        piece = bytearray(line)
        for _ in range(rng.randrange(1, 4)):
            piece[rng.randrange(len(piece))] ^= 1 << rng.randrange(8)
        harmed += piece
    return bytes(harmed)


def bytes_inserted(lines: list[bytes], rng: random.Random) -> bytes:
    """Put up to four random bytes into every line."""
    out = []
    for line in lines:
        at = rng.randrange(len(line))
        out.append(line[:at] + rng.randbytes(rng.randrange(1, 5)) + line[at:])
    return b"".join(out)


def bytes_deleted(lines: list[bytes], rng: random.Random) -> bytes:
    """Take up to four bytes out of every line."""
    out = []
    for line in lines:
        at = rng.randrange(len(line))
        out.append(line[:at] + line[at + rng.randrange(1, 5) :])
    return b"".join(out)


def bytes_replaced(lines: list[bytes], rng: random.Random) -> bytes:
    """Put random bytes in the place of some of every line."""
    out = []
    for line in lines:
        at, length = rng.randrange(len(line)), rng.randrange(1, 9)
        out.append(line[:at] + rng.randbytes(length) + line[at + length :])
    return b"".join(out)


def digits_replaced(lines: list[bytes], rng: random.Random) -> bytes:
    """Change one digit of every line into another: the likeliest wrong value."""
    out = []
    for line in lines:
        at = rng.randrange(3, len(line) - 1)
        out.append(line[:at] + b"%d" % rng.randrange(10) + line[at + 1 :])
    return b"".join(out)


def truncated(lines: list[bytes], rng: random.Random) -> bytes:
    """Cut every line short, with or without its line feed."""
    out = []
    for line in lines:
        end = b"\n" if rng.random() < 0.5 else b""
        out.append(line[: rng.randrange(len(line))] + end)
    return b"".join(out)


def merged(lines: list[bytes], rng: random.Random) -> bytes:
    """Let pieces of neighbours run into each other."""
    out = []
    for line, other in zip(lines, lines[1:] + lines[:1], strict=True):
        out.append(line[: rng.randrange(len(line))] + other[rng.randrange(len(other)) :])
    return b"".join(out)


def ends_mixed(lines: list[bytes], rng: random.Random) -> bytes:
    """End lines in every way that somebody uses."""
    ends = (b"\n", b"\r\n", b"\r", b"\n\r", b"\r\r\n", b"", b"\n\n")
    return b"".join(line[:-1] + rng.choice(ends) for line in lines)


def flooded(lines: list[bytes], rng: random.Random) -> bytes:
    """Put floods of one byte between and into lines."""
    out = []
    for line in lines:
        at = rng.randrange(len(line) + 1)
        out.append(line[:at] + rng.choice(FLOODS) * rng.randrange(1, 300) + line[at:])
    return b"".join(out)


def doubled(lines: list[bytes], rng: random.Random) -> bytes:
    """Send some lines twice, at once or a little later."""
    out = list(lines)
    for _ in range(max(1, len(lines) // 4)):
        at = rng.randrange(len(out))
        out.insert(min(len(out), at + rng.randrange(1, NEAREST)), out[at])
    return b"".join(out)


def reordered(lines: list[bytes], rng: random.Random) -> bytes:
    """Let lines overtake each other."""
    places = [number + rng.uniform(0.0, NEAREST) for number in range(len(lines))]
    return b"".join(line for _, line in sorted(zip(places, lines, strict=True)))


def hostile(lines: list[bytes], rng: random.Random) -> bytes:
    """Add lines with a right CRC that no board sends: no such number, no such kind, no fields."""
    out = []
    for line in lines:
        seq, t_ms = (rng.choice(NUMBERS) for _ in range(2))
        raws = b",".join(rng.choice(STRANGE).encode() for _ in range(rng.randrange(10)))
        kind = rng.choice((b"S", b"S", b"s", b"Z", b"A", b"Q", b""))
        out += [frame(b"%b,%b,%b,%b" % (kind, seq, t_ms, raws)), line]
    return b"".join(out)


HARMS: tuple[Mutation, ...] = (
    untouched, bits_flipped, bytes_inserted, bytes_deleted, bytes_replaced, digits_replaced,
    truncated, merged, ends_mixed, flooded, doubled, reordered, hostile,
)  # fmt: skip


def garbage(rng: random.Random, length: int, piece: int) -> Iterator[bytes]:
    """Make noise, a piece at a time: random bytes, a flood, or crumbs of the protocol itself."""
    kind, flood = rng.randrange(3), rng.choice(FLOODS)
    crumbs = b"".join(rng.choice(CRUMBS) for _ in range(piece))
    for _ in range(0, length, piece):
        if kind == 0:
            yield rng.randbytes(piece)
        elif kind == 1:
            yield flood * (piece // len(flood))
        else:
            begin = rng.randrange(len(crumbs))
            yield crumbs[begin : begin + piece]
