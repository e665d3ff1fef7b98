"""How often a part is called late, stalled, dead or badly seen: the filter beside the simple rule.

`stall` is the state no_kick, `died` the alarm exotherm_stalled. Laws are those of
`tests/cure/unlike.py`, without the epoxy, which no inhibitor holds up. The filter's `late` is the
contract's, at the job's latest gel, and is only told.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from firmware_host.model.events import CureState
from tests.bench.counts import Count, Counted
from tests.cure.simple_rule import Ruled, rule
from tests.cure.unlike import LAWS
from tests.cure.unlike_jobs import Draw, Story, follow, stories, watched

NAME = "cure_states"
BASE = Draw(
    laws=tuple(law for law in LAWS if law != "amine"),
    couples=("part1", "part2", "mould", "shop"),
    shop_c=(15.0, 27.0),
    drift_k_per_h=1.0,
    swing_k=1.0,
    every_s=30.0,
)
UNLEARNT, LEARNT = 0.40, 0.15
CELLS = {
    "normal": BASE,
    "3x slow": replace(BASE, slower=3.0),
    "half dose": replace(BASE, half_dose=True),
    "never": replace(BASE, never=True),
    "died": replace(BASE, dies=True, thickness_mm=(3.0, 6.0)),
    "bead off": replace(BASE, comes_off=True, every_s=10.0),
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
    ("3x slow", "stall", UNLEARNT): 88.0,
    ("3x slow", "stall", LEARNT): 99.0,
    ("half dose", "stall", LEARNT): 90.0,
    ("never", "stall", UNLEARNT): 99.0,
    ("never", "stall", LEARNT): 99.0,
    ("died", "died", UNLEARNT): 95.0,
    ("died", "died", LEARNT): 95.0,
    ("bead off", "off", UNLEARNT): 91.0,
}
COLUMNS = ("onset", "late", "stall", "died", "off")
KICKED = (CureState.KICKED, CureState.COOLING, CureState.DIED)


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One cell: per cent of its parts by column, of the rule and of the filter."""

    cell: str
    known_sd: float
    parts: int
    rule: dict[str, float]
    filter: dict[str, float]

    def __str__(self) -> str:
        pairs = "  ".join(f"{self.rule[c]:5.1f} {self.filter[c]:5.1f}" for c in COLUMNS)
        return f"{self.cell:<10} {self.known_sd:4.2f} {self.parts:5d}  {pairs}"


def run(seed: int, *, full: bool) -> Counted:
    """Draw and judge every cell, learnt and unlearnt."""
    rows = []
    for number, (cell, draw) in enumerate(CELLS.items()):
        if full or cell in SAMPLE_CELLS:
            for sd in (UNLEARNT, LEARNT) if full else (UNLEARNT,):
                count = FULL_PARTS if full else SAMPLE_PARTS
                told = stories(_known(draw, sd), 1000 * seed + number, count)
                rows.append(_row(cell, sd, list(told)))
    head = f"{'':<10} {'sd':>4} {'parts':>5}  " + "  ".join(f"{c:>11}" for c in COLUMNS)
    lines = ("per cent of parts: the simple rule, then the filter", head, *map(str, rows))
    return Counted(name=NAME, counts=tuple(_counts(rows)), lines=lines)


def _known(draw: Draw, sd: float) -> Draw:
    """Let the job believe so much of its rate, and be off by as much: evenly, to 1.73 sd."""
    return replace(draw, known_sd=sd, rate_ln=sd * 3.0**0.5)


def _row(cell: str, sd: float, told: list[Story]) -> Row:
    ruled = [rule(one) for one in told]
    seen = [_seen(one) for one in told]
    return Row(
        cell=cell, known_sd=sd, parts=len(told), rule=_per_cent(ruled), filter=_per_cent(seen)
    )


def _per_cent(said: list[Ruled]) -> dict[str, float]:
    names = {"stall": "stalled"}
    return {
        column: 100.0 * sum(getattr(one, names.get(column, column)) for one in said) / len(said)
        for column in COLUMNS
    }


def _seen(told: Story) -> Ruled:
    """What the core says of a part; only a couple that lies needs the judges of channels."""
    if told.draw.comes_off:
        heard = follow(told)
        dead = "exotherm_stalled" in heard.alarms
        state = heard.monitor.cure.state
        return Ruled(
            onset=heard.monitor.cure.kicked,
            late="exotherm_late" in heard.alarms,
            stalled=state is CureState.NO_KICK,
            died=dead,
            off="sensor_fault" in heard.alarms,
        )
    _, _, states = watched(told)
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
