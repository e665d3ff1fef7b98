"""How often a part is called late, stalled, dead or badly seen: the filter beside the simple rule.

`stall` is the state no_kick, `died` the alarm exotherm_stalled. `owed` is `stall` over the parts
that truly had not gelled when the clock of nearly every batch had run out, exp(2.33 s) of the
file's gel times: the filter sees a kick before the rule does, and then rightly says so. Laws are
those of `tests/cure/unlike.py`, without the epoxy, which no inhibitor holds up. The filter's `late`
is the contract's, at the job's latest gel, and is only told.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from firmware_host.model.events import CureState
from tests.bench.counts import Count, Counted
from tests.cure.simple_rule import MODEL_SD, STALL_SD, Ruled, rule
from tests.cure.unlike import LAWS
from tests.cure.unlike_jobs import Draw, Story, file_gel_s, follow, stories, watched

NAME = "cure_states"
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
COLUMNS = ("onset", "late", "stall", "owed", "died", "off")
OWED_BEYOND = 1.15
"""A part that gels within this of the limit is no stall, nor is it wrong to call it one."""
KICKED = (CureState.KICKED, CureState.COOLING, CureState.DIED)
ANSWERED = frozenset((CureState.DIED, CureState.MAY_REST, CureState.MAY_PULL))
"""From here on no column can change."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One cell: per cent of its parts by column, of the rule and of the filter."""

    cell: str
    known_sd: float
    parts: int
    owed: int
    """Parts of which a stall is owed."""
    rule: dict[str, float]
    filter: dict[str, float]

    def __str__(self) -> str:
        pairs = "  ".join(self._pair(column) for column in COLUMNS)
        return f"{self.cell:<10} {self.known_sd:4.2f} {self.parts:5d} {self.owed:4d}  {pairs}"

    def _pair(self, column: str) -> str:
        if column == "owed" and not self.owed:
            return f"{'-':>5} {'-':>5}"
        return f"{self.rule[column]:5.1f} {self.filter[column]:5.1f}"


def run(seed: int, *, full: bool) -> Counted:
    """Draw and judge every cell, learnt and unlearnt."""
    rows = []
    for number, (cell, draw) in enumerate(CELLS.items()):
        if full or cell in SAMPLE_CELLS:
            for sd in (UNLEARNT, LEARNT) if full else (UNLEARNT,):
                count = FULL_PARTS if full else SAMPLE_PARTS
                told = stories(known(draw, sd), 1000 * seed + number, count)
                rows.append(row_of(cell, sd, [judged(one, sd) for one in told]))
    return counted(rows)


def counted(rows: list[Row]) -> Counted:
    """Lay the rows beside what they must hold."""
    head = f"{'':<10} {'sd':>4} {'parts':>5} {'owed':>4}  " + "  ".join(f"{c:>11}" for c in COLUMNS)
    lines = ("per cent of parts: the simple rule, then the filter", head, *map(str, rows))
    return Counted(name=NAME, counts=tuple(_counts(rows)), lines=lines)


def known(draw: Draw, sd: float) -> Draw:
    """Let the job believe so much of its rate, and be off by as much: evenly, to 1.73 sd.

    A can that is thrice as slow is so within a known can's spread, whatever the job believes: with
    the 0.40 of an unknown one a fifth of them would be no slower than twice.
    """
    return replace(draw, known_sd=sd, rate_ln=(sd if draw.slower == 1.0 else LEARNT) * 3.0**0.5)


@dataclass(frozen=True, slots=True, kw_only=True)
class Judged:
    """What rule and filter said of one part."""

    rule: Ruled
    filter: Ruled
    owed: bool
    """Whether a stall is owed."""


def judged(told: Story, sd: float) -> Judged:
    """Let both judge one part."""
    return Judged(rule=rule(told), filter=_seen(told), owed=is_owed(told, sd))


def row_of(cell: str, sd: float, told: list[Judged]) -> Row:
    """Count one cell's parts."""
    owed = [one.owed for one in told]
    return Row(
        cell=cell,
        known_sd=sd,
        parts=len(told),
        owed=sum(owed),
        rule=_per_cent([one.rule for one in told], owed),
        filter=_per_cent([one.filter for one in told], owed),
    )


def is_owed(told: Story, sd: float) -> bool:
    """Tell whether a part had truly not gelled when nearly every batch of its file would have."""
    course = told.course
    gelled = course.time_s < (told.course.gel_s if told.course.gel_s > 0.0 else math.inf)
    gels_per_s = [1.0 / file_gel_s(told.job, float(k)) for k in course.laminate_k[gelled]]
    clock = sum(gels_per_s) * float(course.time_s[1])
    return clock >= OWED_BEYOND * math.exp(STALL_SD * math.hypot(sd, MODEL_SD))


def _per_cent(said: list[Ruled], owed: list[bool]) -> dict[str, float]:
    stalled = [one.stalled for one, due in zip(said, owed, strict=True) if due]
    found = {"stall": [one.stalled for one in said], "owed": stalled or [True]}
    for column in ("onset", "late", "died", "off"):
        found[column] = [getattr(one, column) for one in said]
    return {column: 100.0 * sum(told) / len(told) for column, told in found.items()}


def _seen(told: Story) -> Ruled:
    """What the core says of a part; only a couple that lies needs the judges of channels."""
    if told.draw.comes_off:
        heard = follow(told, ANSWERED)
        dead = "exotherm_stalled" in heard.alarms
        state = heard.monitor.cure.state
        return Ruled(
            onset=heard.monitor.cure.kicked,
            late="exotherm_late" in heard.alarms,
            stalled=state is CureState.NO_KICK,
            died=dead,
            off="sensor_fault" in heard.alarms,
        )
    _, _, states = watched(told, ANSWERED)
    stalled = CureState.NO_KICK in states
    return Ruled(
        onset=any(state in states for state in KICKED),
        late=stalled or CureState.LATE in states,
        stalled=stalled,
        died=CureState.DIED in states,
        off=CureState.DOUBTED in states,
    )


def _counts(rows: list[Row]) -> list[Count]:
    counts = []
    for row in rows:
        for column in COLUMNS:
            key = (row.cell, column, row.known_sd)
            if key in AT_MOST or key in AT_LEAST:
                counts.append(
                    Count(
                        what=f"{row.cell}, sd {row.known_sd}: {column}, % of parts",
                        value=row.filter[column],
                        at_most=AT_MOST.get(key),
                        at_least=AT_LEAST.get(key),
                    )
                )
    return counts
