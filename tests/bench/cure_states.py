"""How often a shell is called late, stalled, dead or badly seen: the filter beside the simple rule.

Shells of the law for which the rule's sides were set (`tests/cure/shells.py`), 2 to 6 mm, in a shop
of 15 to 27 degC; bounds are what the rule gave there in 400 parts a cell, or better. An old can is
exactly thrice as slow, and half a dose gels as a maker's sheet has it (an ortho resin with 0.016 %
cobalt, 1 and 2 % at 15 and 20 degC: exponent 1.37), though the file believes in 1: with both, the
rule gives those cells back.

`late` is the state at or past "late", `stall` no_kick, `died` the alarm exotherm_stalled, `off` a
couple that is named. `owed` is `stall` over the shells that truly had not gelled when the clock of
nearly every batch had run out, exp(2.33 s) of the file's gel times. `cure_strangers` asks the same
of laws that are not the file's.
"""

from __future__ import annotations

from functools import partial

from tests.bench.counts import Counted
from tests.bench.cure_tally import Cell, Row, counted, judged, row_of, rows_of
from tests.cure.shell_jobs import Kind, onset_clock, stories

NAME = "cure_states"
UNLEARNT, LEARNT = 0.40, 0.15
SHEET_EXPONENT = 1.37
CELLS = {
    "normal": Kind(),
    "3x slow": Kind(slower=3.0, spread=0.0, until_s=30000.0),
    "half dose": Kind(half_dose=True, dose_exponent=SHEET_EXPONENT, until_s=30000.0),
    "never": Kind(never=True, until_s=36000.0),
    "died": Kind(dies=True, thicknesses_mm=(3.0, 4.0, 6.0)),
    "bead off": Kind(comes_off=True, thicknesses_mm=(3.0, 4.0, 6.0), every_s=20.0),
    "half, p 1": Kind(half_dose=True),
}
"""The last is half a dose by the file's own law: no published figure stands beside it."""
FULL_PARTS, SAMPLE_PARTS = 100, 1
SAMPLE_CELLS = ("normal", "never")
"""Cells that hold in every part; what fails in one of 25 cannot be judged by two."""
AT_MOST = {
    ("normal", "late", UNLEARNT): 5.2,
    ("normal", "stall", UNLEARNT): 1.2,
    ("normal", "died", UNLEARNT): 1.0,
    ("normal", "late", LEARNT): 2.5,
    ("normal", "stall", LEARNT): 0.2,
    ("normal", "died", LEARNT): 1.0,
    ("3x slow", "died", UNLEARNT): 4.0,
    ("3x slow", "died", LEARNT): 4.0,
    ("half dose", "died", LEARNT): 4.0,
    ("never", "onset", UNLEARNT): 0.0,
    ("never", "onset", LEARNT): 0.0,
    ("never", "died", UNLEARNT): 0.0,
    ("never", "died", LEARNT): 0.0,
    ("died", "late", UNLEARNT): 8.0,
    ("died", "stall", UNLEARNT): 4.0,
    ("bead off", "late", UNLEARNT): 7.0,
    ("bead off", "stall", UNLEARNT): 2.5,
    ("bead off", "died", UNLEARNT): 8.0,
}
AT_LEAST = {
    ("normal", "onset", UNLEARNT): 99.8,
    ("normal", "onset", LEARNT): 99.8,
    ("3x slow", "onset", UNLEARNT): 96.0,
    ("3x slow", "late", UNLEARNT): 99.0,
    ("3x slow", "stall", UNLEARNT): 88.0,
    ("3x slow", "late", LEARNT): 99.0,
    ("3x slow", "stall", LEARNT): 99.0,
    ("half dose", "onset", LEARNT): 99.0,
    ("half dose", "late", LEARNT): 99.0,
    ("half dose", "stall", LEARNT): 90.0,
    ("never", "stall", UNLEARNT): 99.0,
    ("never", "stall", LEARNT): 99.0,
    ("died", "onset", UNLEARNT): 97.0,
    ("died", "died", UNLEARNT): 96.0,
    ("died", "died", LEARNT): 96.0,
    ("bead off", "off", UNLEARNT): 91.0,
    ("bead off", "off", LEARNT): 91.0,
}
"""Per cent of the filter's parts."""


def run(seed: int, *, full: bool) -> Counted:
    """Draw and judge every cell, learnt and unlearnt."""
    beliefs = (UNLEARNT, LEARNT) if full else (UNLEARNT,)
    cells = [(name, sd) for name in CELLS if full or name in SAMPLE_CELLS for sd in beliefs]
    rows = rows_of(partial(_row, seed, FULL_PARTS if full else SAMPLE_PARTS), cells, apart=full)
    return counted(NAME, rows, AT_MOST, AT_LEAST)


def _row(seed: int, count: int, cell: Cell) -> Row:
    name, sd = cell
    told = stories(CELLS[name], sd, 1000 * seed + list(CELLS).index(name), count)
    return row_of(
        name, sd, [judged(one, sd, onset_clock(one.job.laminate.thickness_mm)) for one in told]
    )
