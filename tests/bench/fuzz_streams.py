"""Harmed streams through the reader of frames and the reader of a port, checked line by line.

Every sound line carries its own number in its readings, so a value that is accepted can be held
against what was sent under that number.
"""

from __future__ import annotations

import random
from collections import Counter
from dataclasses import dataclass, field
from time import process_time

import psutil

from firmware_host.inputs.board_clock import BoardClock
from firmware_host.inputs.bv1_board import Bv1Board
from firmware_host.inputs.messages import Arrived
from hardware.frames import FrameReader, encode_sample
from hardware.messages import SampleLine
from tests.bench.fuzz_mutations import HARMS, Mutation, garbage, untouched
from tests.bench.fuzz_words import may_be_couple, may_be_pressure, word_of
from tests.inputs.boards import SUPPLY, hello, port_channels

LINES_AT_ONCE = 40
PORT_EVERY = 12
"""One batch in so many also goes through the reader of a port."""
GARBAGE_EVERY = 400
WARM_SPELLS = 20
"""Spells of noise after which a process has all the memory that it needs."""
READ_BYTES = 4096
"""As many as a port gives at once."""
STEP_MS = 500
LEAST_COUNT, COUNTS = 4000, 18000
PA_PER_COUNT = 100000.0 / 0.8 / SUPPLY
COUPLE_STEP_K = 0.25


@dataclass(slots=True)
class Tally:
    """What was fed and what came of it."""

    lines: int = 0
    bytes_fed: int = 0
    cpu_s: float = 0.0
    accepted: int = 0
    exceptions: Counter[str] = field(default_factory=Counter)
    wrong_values: int = 0
    repeated: int = 0
    """Samples handed on twice, or out of their order."""
    port_samples: int = 0
    garbage_spells: int = 0
    most_lost_after_garbage: int = 0
    longest_kept: int = 0
    grown_bytes: int = 0

    def add(self, other: Tally) -> None:
        """Take another's figures into this one."""
        for name in (
            "lines", "bytes_fed", "cpu_s", "accepted", "wrong_values", "repeated", "port_samples",
            "garbage_spells",
        ):  # fmt: skip
            setattr(self, name, getattr(self, name) + getattr(other, name))
        self.exceptions.update(other.exceptions)
        for name in ("most_lost_after_garbage", "longest_kept", "grown_bytes"):
            setattr(self, name, max(getattr(self, name), getattr(other, name)))


def raws_of(seq: int) -> tuple[str, ...]:
    """Give the raws that are sent under a number, and under no other of a batch."""
    couple = (300 + seq % 400) << 18 | 400 << 4
    return (str(LEAST_COUNT + seq % COUNTS), f"{couple:08X}", str(SUPPLY))


def line_of(seq: int) -> bytes:
    """Frame the sample of a number."""
    return encode_sample(seq, STEP_MS * seq, raws_of(seq))


class Campaign:
    """One process's share."""

    def __init__(self, seed: str) -> None:
        self.tally = Tally()
        self._rng = random.Random(seed)
        self._reader = FrameReader()
        self._pool = [line_of(seq) for seq in range(65536)]
        self._channels = port_channels()
        self._batch = 0

    def run(self, lines: int, cpu_s: float) -> Tally:
        """Feed at least so many lines and spend at least so much CPU time."""
        begun_s, process = process_time(), psutil.Process()
        warm_bytes: int | None = None
        while self.tally.lines < lines or process_time() - begun_s < cpu_s:
            self._batch += 1
            self._frames()
            if self._batch % PORT_EVERY == 0:
                self._port()
                self._words()
            if self._batch % GARBAGE_EVERY == 0:
                self._resync()
                resident = process.memory_info().rss
                warm_bytes = resident if self._batch <= WARM_SPELLS * GARBAGE_EVERY else warm_bytes
                self.tally.grown_bytes = resident - (warm_bytes or resident)
        self.tally.cpu_s = process_time() - begun_s
        return self.tally

    def _frames(self) -> None:
        """Harm a batch and hold whatever is accepted against what was sent."""
        stream = self._harmed(self._rng.randrange(65536 - LINES_AT_ONCE), self._rng.choice(HARMS))
        for piece in self._pieces(stream):
            try:
                messages = self._reader.feed(piece)
            except Exception as error:  # noqa: BLE001 - what is counted here is any exception at all
                self.tally.exceptions[repr(error)] += 1
                continue
            for message in messages:
                if isinstance(message, SampleLine):
                    self.tally.accepted += 1
                    self.tally.wrong_values += not _was_sent(message)
        self.tally.longest_kept = max(self.tally.longest_kept, self._reader.waiting)

    def _harmed(self, first: int, harm: Mutation) -> bytes:
        stream = harm(self._pool[first : first + LINES_AT_ONCE], self._rng)
        self.tally.lines += LINES_AT_ONCE
        self.tally.bytes_fed += len(stream)
        return stream

    def _pieces(self, stream: bytes) -> list[bytes]:
        """Cut as a port would, sometimes at every byte."""
        if self._rng.random() < 0.02:
            return [stream[at : at + 1] for at in range(len(stream))]
        edges = sorted(self._rng.randrange(len(stream) + 1) for _ in range(4)) if stream else []
        return [stream[a:b] for a, b in zip([0, *edges], [*edges, len(stream)], strict=True)]

    def _port(self) -> None:
        """Let a board of its own live through several harmed batches."""
        board = Bv1Board(0, port_channels(), BoardClock(), 0, 1.0)
        first, last_s, heard = self._rng.randrange(60000), -1.0, set[str]()
        board.feed(hello(), STEP_MS * first)
        for number in range(3):
            begin = first + number * LINES_AT_ONCE
            stream = self._harmed(begin, self._rng.choice(HARMS))
            now_ms = STEP_MS * (begin + LINES_AT_ONCE)
            try:
                told = [one for piece in self._pieces(stream) for one in board.feed(piece, now_ms)]
            except Exception as error:  # noqa: BLE001 - as above
                self.tally.exceptions[repr(error)] += 1
                continue
            for arrived in told:
                if isinstance(arrived, Arrived):
                    self.tally.port_samples += 1
                    self.tally.repeated += arrived.raw in heard or arrived.frame.time_s <= last_s
                    self.tally.wrong_values += not _is_value_sent(arrived, begin)
                    heard.add(arrived.raw)
                    last_s = arrived.frame.time_s

    def _words(self) -> None:
        """Let intact lines carry words that are not of their channels' kinds."""
        for _ in range(LINES_AT_ONCE):
            raws = [word_of(self._rng) for _ in range(self._rng.randrange(6))]
            self.tally.lines += 1
            try:
                frame = self._channels.frame(raws, 0, 1000)
            except Exception as error:  # noqa: BLE001 - as above
                self.tally.exceptions[repr(error)] += 1
                continue
            pressure_pa, couple_k = frame.values
            believable = may_be_pressure(raws, pressure_pa) and may_be_couple(raws, couple_k)
            self.tally.wrong_values += not believable

    def _resync(self) -> None:
        """Feed a spell of noise, then count what of a sound stream is lost."""
        length = round(1000.0 * 1000.0 ** self._rng.random())
        for piece in garbage(self._rng, length, READ_BYTES):
            self._reader.feed(piece)
            self.tally.longest_kept = max(self.tally.longest_kept, self._reader.waiting)
        first = self._rng.randrange(60000)
        stream = self._harmed(first, untouched)
        came = [m.seq for m in self._reader.feed(stream) if isinstance(m, SampleLine)]
        lost = len(set(range(first, first + LINES_AT_ONCE)) - set(came))
        self.tally.bytes_fed += length
        self.tally.garbage_spells += 1
        self.tally.most_lost_after_garbage = max(self.tally.most_lost_after_garbage, lost)


def _was_sent(line: SampleLine) -> bool:
    return line.t_ms == STEP_MS * line.seq and line.raws == raws_of(line.seq)


def _is_value_sent(arrived: Arrived, begin: int) -> bool:
    """Hold the values of a frame against arithmetic of our own, for every number of the batches."""
    pressure_pa, couple_k = arrived.frame.values
    for seq in range(max(0, begin - 2 * LINES_AT_ONCE), begin + LINES_AT_ONCE):
        raws = raws_of(seq)
        if arrived.raw == ",".join(raws):
            expected_pa = (int(raws[0]) - 0.1 * SUPPLY) * PA_PER_COUNT
            shown_k = (300 + seq % 400) * COUPLE_STEP_K + 273.15
            # The chip's straight line is off the couple's curve by less than 1.5 K in this span.
            return (
                pressure_pa is not None
                and couple_k is not None
                and abs(pressure_pa - expected_pa) < 0.06
                and abs(couple_k - shown_k) < 1.5
            )
    return False
