"""What it costs to turn a line's raws into Pa and K, beside the library's own way to numbers.

Five couples on linear chips and two transducers; no word comes twice, so that nothing is
remembered from an earlier line.
"""

from __future__ import annotations

import random
from pathlib import Path
from tempfile import TemporaryDirectory
from time import process_time

import serial

from hardware.channels import AdcPressureSpec, ChannelSpec, Couple, CoupleSpec, Kind
from hardware.decoder import ChannelAt, PortDecoder
from hardware.frames import encode_sample
from hardware.thermocouple import read_tc31855, tc31855_word
from tests.bench.figures import Found, Goal, Pair
from tests.bench.ptys import Wire
from tests.bench.wire_cost import readline_us

NAME = "convert_cost"
GOAL = Goal(ratio=1.0 / 3.0)
LINES = 400
COUPLES = (Couple.K, Couple.K, Couple.K, Couple.J, Couple.T)
FULL_TURNS, SAMPLE_TURNS = 15, 5
GAUGE = AdcPressureSpec(kind=Kind.ADC16S, volts_per_count=187.5e-6, supply_index=7)


def _decoder() -> PortDecoder:
    couples = [CoupleSpec(kind=Kind.TC31855, couple=couple) for couple in COUPLES]
    specs: list[ChannelSpec] = [*couples, GAUGE, GAUGE]
    return PortDecoder(
        [ChannelAt(name=f"x{at}", index=at, spec=spec) for at, spec in enumerate(specs)]
    )


def _raws(seed: int) -> list[list[str]]:
    rng = random.Random(seed)
    return [
        [
            *(
                tc31855_word(rng.uniform(290.0, 400.0), rng.uniform(290.0, 310.0), couple)
                for couple in COUPLES
            ),
            str(rng.randint(4000, 20000)),
            str(rng.randint(4000, 20000)),
            str(rng.randint(26500, 26800)),
        ]
        for _ in range(LINES)
    ]


def _ours_us(raws: list[list[str]]) -> float:
    decoder = _decoder()
    read_tc31855.cache_clear()
    begun_s = process_time()
    for line in raws:
        decoder.decode(line)
    return 1e6 * (process_time() - begun_s) / len(raws)


def run(seed: int, *, full: bool) -> Found:
    """Take the same lines both ways in turns."""
    raws = _raws(seed)
    lines = [encode_sample(at, 500 * at, line) for at, line in enumerate(raws)]
    pairs = []
    with TemporaryDirectory(prefix="bv-") as name:
        wire = Wire(Path(name) / "line")
        with serial.Serial(str(wire.path), 115200, timeout=1.0) as port:
            for _ in range(FULL_TURNS if full else SAMPLE_TURNS):
                peer_us = readline_us(lines, wire, port)
                pairs.append(Pair(ours=_ours_us(raws), peer=peer_us))
        wire.close()
    return Found(
        name=NAME,
        ours="CPU time to turn the raws of five couples and two transducers into K and Pa, us",
        peer="CPU time of pyserial's readline() and float() for the same line over a pty, us",
        goal=GOAL,
        pairs=tuple(pairs),
        notes=(f"{LINES} lines, no word twice",),
    )
