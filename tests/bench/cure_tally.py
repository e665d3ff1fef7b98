"""What the simple rule and the filter said of many parts, counted by cell and column."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from multiprocessing import cpu_count, get_context

from firmware_host.model.events import CureState
from tests.bench.counts import Count, Counted
from tests.cure.simple_rule import MODEL_SD, STALL_SD, Ruled, rule
from tests.cure.unlike_jobs import Story, file_gel_s, follow, watched

Bounds = Mapping[tuple[str, str, float], float]
"""Per cent of the filter's parts, by cell, column and what the job believes of its rate."""
Cell = tuple[str, float]
"""Its name, and what the job believes of its rate."""
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


def rows_of(draw: Callable[[Cell], Row], cells: Iterable[Cell], *, apart: bool) -> list[Row]:
    """Draw and count cells one after the other or, apart, on a core each."""
    if not apart:
        return [draw(cell) for cell in cells]
    with ProcessPoolExecutor(cpu_count(), get_context("spawn")) as pool:
        return list(pool.map(draw, cells))


def counted(name: str, rows: list[Row], at_most: Bounds, at_least: Bounds) -> Counted:
    """Lay the rows beside what they must hold."""
    head = f"{'':<10} {'sd':>4} {'parts':>5} {'owed':>4}  " + "  ".join(f"{c:>11}" for c in COLUMNS)
    lines = ("per cent of parts: the simple rule, then the filter", head, *map(str, rows))
    return Counted(name=name, counts=tuple(_counts(rows, at_most, at_least)), lines=lines)


@dataclass(frozen=True, slots=True, kw_only=True)
class Judged:
    """What rule and filter said of one part."""

    rule: Ruled
    filter: Ruled
    owed: bool
    """Whether a stall is owed."""


def judged(told: Story, sd: float, onset_clock: float) -> Judged:
    """Let both judge one part."""
    return Judged(rule=rule(told, onset_clock), filter=_seen(told), owed=is_owed(told, sd))


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


def _counts(rows: list[Row], at_most: Bounds, at_least: Bounds) -> list[Count]:
    counts = []
    for row in rows:
        for column in COLUMNS:
            key = (row.cell, column, row.known_sd)
            if key in at_most or key in at_least:
                counts.append(
                    Count(
                        what=f"{row.cell}, sd {row.known_sd}: {column}, % of parts",
                        value=row.filter[column],
                        at_most=at_most.get(key),
                        at_least=at_least.get(key),
                    )
                )
    return counts
