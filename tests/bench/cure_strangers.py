"""How often a part is called late, stalled, dead or badly seen: the filter beside the simple rule.

`stall` is the state no_kick, `died` the alarm exotherm_stalled. `owed` is `stall` over the parts
that truly had not gelled when the clock of nearly every batch had run out, exp(2.33 s) of the
file's gel times: the filter sees a kick before the rule does, and then rightly says so. Laws are
those of `tests/cure/unlike.py`, without the epoxy, which no inhibitor holds up. The filter's `late`
is the contract's, at the job's latest gel, and is only told.
"""

from __future__ import annotations

from dataclasses import replace
from functools import partial

from tests.bench.counts import Counted
from tests.bench.cure_tally import Cell, Row, counted, judged, row_of, rows_of
from tests.cure.simple_rule import onset_clock
from tests.cure.unlike import LAWS
from tests.cure.unlike_jobs import Draw, stories

NAME = "cure_strangers"
BASE = Draw(
    laws=tuple(law for law in LAWS if law != "amine"),
    couples=("part1", "part2", "mould", "shop"),
    shop_c=(15.0, 27.0),
    drift_k_per_h=1.0,
    swing_k=1.0,
    every_s=60.0,
)
UNLEARNT, LEARNT = 0.40, 0.15
CELLS = {
    "normal": BASE,
    "3x slow": replace(BASE, slower=3.0, until_gels=2.3),
    "half dose": replace(BASE, half_dose=True),
    "never": replace(BASE, never=True),
    "died": replace(BASE, dies=True, thickness_mm=(3.0, 6.0)),
    "bead off": replace(BASE, comes_off=True, every_s=20.0),
    "cold": replace(BASE, shop_c=(8.0, 14.0)),
}
FULL_PARTS, SAMPLE_PARTS = 100, 1
SAMPLE_CELLS = ("normal", "died")
AT_MOST = {
    ("normal", "stall", UNLEARNT): 1.2,
    ("normal", "stall", LEARNT): 0.2,
    ("normal", "died", UNLEARNT): 0.0,
    ("normal", "died", LEARNT): 0.0,
    ("3x slow", "died", UNLEARNT): 0.0,
    ("3x slow", "died", LEARNT): 0.0,
    ("cold", "died", UNLEARNT): 0.0,
    ("cold", "died", LEARNT): 0.0,
    ("never", "died", UNLEARNT): 0.0,
    ("died", "stall", UNLEARNT): 4.0,
    ("bead off", "died", UNLEARNT): 8.0,
}
"""Per cent of the filter's parts."""
AT_LEAST = {
    ("normal", "onset", UNLEARNT): 99.0,
    ("3x slow", "owed", UNLEARNT): 99.0,
    ("3x slow", "owed", LEARNT): 99.0,
    ("half dose", "owed", LEARNT): 99.0,
    ("never", "owed", UNLEARNT): 99.0,
    ("never", "owed", LEARNT): 99.0,
    ("died", "died", UNLEARNT): 96.0,
    ("died", "died", LEARNT): 96.0,
    ("bead off", "off", UNLEARNT): 91.0,
}


def run(seed: int, *, full: bool) -> Counted:
    """Draw and judge every cell, learnt and unlearnt."""
    beliefs = (UNLEARNT, LEARNT) if full else (UNLEARNT,)
    cells = [(name, sd) for name in CELLS if full or name in SAMPLE_CELLS for sd in beliefs]
    rows = rows_of(partial(_row, seed, FULL_PARTS if full else SAMPLE_PARTS), cells, apart=full)
    return counted(NAME, rows, AT_MOST, AT_LEAST)


def _row(seed: int, count: int, cell: Cell) -> Row:
    name, sd = cell
    told = stories(known(CELLS[name], sd), 1000 * seed + list(CELLS).index(name), count)
    return row_of(name, sd, [judged(one, sd, onset_clock(one.part.law)) for one in told])


def known(draw: Draw, sd: float) -> Draw:
    """Let the job believe so much of its rate, and be off by as much: evenly, to 1.73 sd.

    A can that is thrice as slow is so within a known can's spread, whatever the job believes: with
    the 0.40 of an unknown one a fifth of them would be no slower than twice.
    """
    return replace(draw, known_sd=sd, rate_ln=(sd if draw.slower == 1.0 else LEARNT) * 3.0**0.5)
