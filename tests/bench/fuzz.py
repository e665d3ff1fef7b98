"""Ten million harmed lines: nothing raises, nothing wrong is believed, nothing grows.

At least ten million lines and at least three minutes of CPU time, in two processes.
"""

from __future__ import annotations

import random
import tracemalloc
from multiprocessing import get_context
from time import process_time

from firmware_host.inputs.board_clock import BoardClock
from firmware_host.inputs.bv1_board import Bv1Board
from hardware.frames import LONGEST_LINE, FrameReader
from tests.bench.counts import Count, Counted
from tests.bench.fuzz_mutations import FLOODS, garbage
from tests.bench.fuzz_streams import READ_BYTES, Campaign, Tally, line_of
from tests.inputs.boards import port_channels

NAME = "fuzz"
FULL_LINES, FULL_CPU_S = 10_000_000, 180.0
SAMPLE_LINES, SAMPLE_CPU_S = 60_000, 0.0
PROCESSES = 2
MOST_GROWTH = 1_000_000
"""Bytes."""
SHORT_FLOOD, LONGER = 65_536, 16
MEMORY_FLOOD = 10_000_000
STEEPEST = 2.0
"""Times the cost of a byte that a byte of a sixteen times longer flood may cost."""


def _share(seed: str, lines: int, cpu_s: float) -> Tally:
    return Campaign(seed).run(lines, cpu_s)


def _campaign(seed: int, *, full: bool) -> Tally:
    lines, cpu_s = (FULL_LINES, FULL_CPU_S) if full else (SAMPLE_LINES, SAMPLE_CPU_S)
    if not full:
        return _share(f"{seed}:0", lines, cpu_s)
    shares = [(f"{seed}:{n}", lines // PROCESSES, cpu_s / PROCESSES) for n in range(PROCESSES)]
    whole = Tally()
    with get_context("spawn").Pool(PROCESSES) as pool:
        for tally in pool.starmap(_share, shares):
            whole.add(tally)
    return whole


def _grown_by_floods(length: int) -> int:
    """Most bytes that a port's reader held while floods went through it."""
    rng = random.Random("floods")
    floods = [rng.randbytes(READ_BYTES), *(one * (READ_BYTES // len(one)) for one in FLOODS)]
    board = Bv1Board(0, port_channels(), BoardClock(), 0, 1.0)
    board.feed(line_of(1), 1000)
    tracemalloc.start()
    before, _ = tracemalloc.get_traced_memory()
    for flood in floods:
        for at in range(0, length, READ_BYTES):
            board.feed(flood, 2000 + at)
    _, most = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    return most - before


def _cpu_of(pieces: list[bytes], times: int) -> float:
    """CPU time to read these pieces so many times over; the least of three."""
    costs = []
    for _ in range(3):
        reader, begun_s = FrameReader(), process_time()
        for _ in range(times):
            for piece in pieces:
                reader.feed(piece)
        costs.append(process_time() - begun_s)
    return min(costs)


def _steepest() -> float:
    """Cost of a byte in a long flood over its cost in a short one, of the worst flood."""
    rng = random.Random("steep")
    floods = [[one * (READ_BYTES // len(one))] for one in (*FLOODS, line_of(7))]
    floods += [list(garbage(rng, 16 * READ_BYTES, READ_BYTES)) for _ in range(6)]
    ratios = []
    for flood in floods:
        times = SHORT_FLOOD // sum(map(len, flood)) + 1
        ratios.append(_cpu_of(flood, LONGER * times) / LONGER / _cpu_of(flood, times))
    return max(ratios)


def run(seed: int, *, full: bool) -> Counted:
    """Harm lines and count."""
    tally = _campaign(seed, full=full)
    lines, cpu_s = (FULL_LINES, FULL_CPU_S) if full else (SAMPLE_LINES, SAMPLE_CPU_S)
    grown_bytes = _grown_by_floods(MEMORY_FLOOD if full else MEMORY_FLOOD // 20)
    return Counted(
        name=NAME,
        counts=(
            Count(what="lines harmed and fed", value=tally.lines, at_least=lines),
            Count(what="CPU time spent on them, s", value=tally.cpu_s, at_least=cpu_s),
            Count(what="exceptions", value=tally.exceptions.total(), at_most=0),
            Count(what="samples accepted", value=tally.accepted, at_least=lines // 10),
            Count(what="samples through a port's reader", value=tally.port_samples, at_least=1),
            Count(what="accepted and not what was sent", value=tally.wrong_values, at_most=0),
            Count(what="handed on twice or backwards", value=tally.repeated, at_most=0),
            Count(what="spells of garbage, 1 kB to 1 MB", value=tally.garbage_spells, at_least=1),
            Count(
                what="most good lines lost after one",
                value=tally.most_lost_after_garbage,
                at_most=1,
            ),
            Count(
                what="most bytes kept for a line feed",
                value=tally.longest_kept,
                at_most=LONGEST_LINE,
            ),
            Count(
                what="growth of the process after its warm-up, bytes",
                value=tally.grown_bytes,
                at_most=MOST_GROWTH,
            ),
            Count(
                what="most held while floods go through, bytes",
                value=grown_bytes,
                at_most=MOST_GROWTH,
            ),
            Count(
                what="cost of a byte, 1 MB flood over 64 kB flood",
                value=_steepest(),
                at_most=STEEPEST,
            ),
        ),
        lines=(
            f"{tally.bytes_fed / 1e6:.0f} MB. A line harmed by chance passes its CRC-32 once in "
            "4.3 thousand million.",
            *(f"{error}: {count}" for error, count in tally.exceptions.most_common(5)),
        ),
    )
