"""What framing, CRC and splitting cost, beside the library's own way to a line."""

from __future__ import annotations

from pathlib import Path
from tempfile import TemporaryDirectory
from time import process_time

import serial

from hardware.frames import BodyReader
from tests.bench.feed import Feed, healthy
from tests.bench.figures import Found, Goal, Pair
from tests.bench.ptys import Wire

NAME = "wire_cost"
GOAL = Goal(ratio=1.0 / 50.0)
LINES = 500
AT_ONCE = 20
"""Lines in the pty at a time; its buffer holds no more than 4 kB."""
OURS_AGAIN = 20
"""Ours is so short that it is measured over more lines."""
FULL_TURNS, SAMPLE_TURNS = 15, 5


def _ours_us(lines: list[bytes]) -> float:
    reader, begun_s = BodyReader(), process_time()
    for _ in range(OURS_AGAIN):
        for line in lines:
            (body,) = reader.feed(line)
            body.split(",")
    return 1e6 * (process_time() - begun_s) / (OURS_AGAIN * len(lines))


def readline_us(lines: list[bytes], wire: Wire, port: serial.Serial) -> float:
    """CPU time of a line by readline() and float(), for each that goes through the pty."""
    spent_s = 0.0
    for first in range(0, len(lines), AT_ONCE):
        batch = lines[first : first + AT_ONCE]
        wire.write(b"".join(batch))
        begun_s = process_time()
        for _ in batch:
            for field in port.readline().split(b","):
                _number(field)
        spent_s += process_time() - begun_s
    return 1e6 * spent_s / len(lines)


def _number(field: bytes) -> float | None:
    try:
        return float(field)
    except ValueError:
        return None


def run(seed: int, *, full: bool) -> Found:
    """Take the same lines both ways in turns."""
    given = Feed(healthy(seed, 600.0)).until(60.0)
    lines = [one for one in given if isinstance(one, bytes) and one.startswith(b"@S")][:LINES]
    pairs = []
    with TemporaryDirectory(prefix="bv-") as name:
        wire = Wire(Path(name) / "line")
        with serial.Serial(str(wire.path), 115200, timeout=1.0) as port:
            for _ in range(FULL_TURNS if full else SAMPLE_TURNS):
                peer_us = readline_us(lines, wire, port)
                pairs.append(Pair(ours=_ours_us(lines), peer=peer_us))
        wire.close()
    length = sum(map(len, lines)) / len(lines)
    return Found(
        name=NAME,
        ours="CPU time to frame, check and split a line that was read, us",
        peer="CPU time of pyserial's readline() and float() for the same line over a pty, us",
        goal=GOAL,
        pairs=tuple(pairs),
        notes=(f"{len(lines)} lines of {length:.0f} bytes",),
    )
