"""From what a record said to what a job teaches: when it was mixed, and when it gelled or had not.

Pure: events and temperatures in, outcomes out. Onset was converted to gel by the watch; only a gel
that heat or a finger has placed well is taken: no forecast is learnt as if it had been seen.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import date

from firmware_host.config.schema import JobDescription
from firmware_host.history.outcomes import Kind, Outcome
from firmware_host.history.resin import cups_of, resin_can, resin_key, resin_lot
from firmware_host.model.events import (
    AlarmChanged,
    Event,
    GelPlaced,
    LeakChecked,
    MarkTaken,
    Phase,
    PhaseEntered,
)
from firmware_host.physics.gel_time import GAS_CONSTANT_J_PER_MOLK

WELL_PLACED_LN_SD = 0.20
INTERVAL_SDS = 3.92
"""A 95 % interval in standard deviations."""
LATE_BY_SD_MIN = 1.0
"""Whoever pokes a cup looks about once a minute."""
MEAN_ACTIVATION_J_PER_MOL = 58_000.0
"""Joint fit of published gel tables; a mean over some degrees hardly depends on it."""


@dataclass(slots=True, kw_only=True)
class Said:
    """What matters of a record's events, as they come by."""

    mixed_s: float | None = None
    gel: GelPlaced | None = None
    kicked: bool = False
    late_s: float | None = None
    marks: dict[str, float] = field(default_factory=dict)
    drop_test: str = ""
    alarms: list[str] = field(default_factory=list)

    def take(self, event: Event) -> None:
        """Keep what this event says."""
        match event:
            case MarkTaken() if event.taken:
                self.marks.setdefault(event.name, event.at_s)
            case PhaseEntered(phase=Phase.WORKING) if self.mixed_s is None:
                self.mixed_s = event.since_s
            case PhaseEntered(phase=Phase.KICKED):
                self.kicked = True
            case GelPlaced():
                self.gel = event
            case AlarmChanged():
                self._take_alarm(event)
            case LeakChecked() if event.final:
                self.drop_test = event.verdict.value
            case _:
                pass

    def _take_alarm(self, event: AlarmChanged) -> None:
        if event.name not in self.alarms:
            self.alarms.append(event.name)
        if event.name == "exotherm_late" and self.late_s is None:
            self.late_s = event.raised_s

    @property
    def work_min(self) -> float | None:
        """Minutes from mixing to bag closed, as they were marked."""
        closed_s, poured_s = self.marks.get("bag_closed"), self.poured_s
        if closed_s is None or poured_s is None or closed_s <= poured_s:
            return None
        return (closed_s - poured_s) / 60.0

    @property
    def poured_s(self) -> float | None:
        """When the cup was mixed; the mark knows best."""
        return self.marks.get("mixed", self.mixed_s)

    @property
    def is_cup(self) -> bool:
        """A cup test: mixed and seen to gel, and never a bag."""
        bagged = {"bag_closed", "pump_on", "valve_shut"} & self.marks.keys()
        return "gel_seen" in self.marks and not bagged

    @property
    def end_s(self) -> float | None:
        """Until when temperatures matter: the gel, or the last moment it was waited for."""
        if self.is_cup:
            return self.marks["gel_seen"]
        return self.late_s if self.gel is None else self.gel.gel_s


def said_by(events: Iterable[Event]) -> Said:
    """Fold a record's events."""
    said = Said()
    for event in events:
        said.take(event)
    return said


def outcomes_of(
    name: str, job: JobDescription, on: date, said: Said, temps_k: Sequence[float], dose: float
) -> list[Outcome]:
    """Give what a job folder teaches, its typed cup tests included; `temps_k` from pour to gel."""
    can, weighed = resin_can(job), job.weighed
    gel_min, ln_sd = _gel(said)
    pour = Outcome(
        job=name,
        part=job.job.part,
        on=on,
        kind=Kind.CUP if said.is_cup else Kind.SHELL,
        resin=resin_key(job),
        lot=resin_lot(job),
        form=job.form.name if job.form is not None else "",
        dose_percent=dose,
        temp_k=steady_equivalent_k(temps_k),
        shop_c=job.conditions.shop_c,
        gel_min=gel_min,
        gel_ln_sd=ln_sd,
        not_by_min=_not_by(said) if gel_min is None else None,
        opened=None if can is None else can.opened,
        work_min=said.work_min,
        drop_test=said.drop_test,
        alarms=tuple(said.alarms),
        resin_fraction=None if weighed is None else 1.0 - weighed.dry_g / weighed.part_g,
    )
    return [pour, *cups_of(job, on, resin_lot(job))]


def _gel(said: Said) -> tuple[float | None, float]:
    """Minutes from mixing to gel with the ln of their doubt; None where nobody can say."""
    poured_s = said.poured_s
    if poured_s is None:
        return None, 0.0
    if said.is_cup:
        minutes = (said.marks["gel_seen"] - poured_s) / 60.0
        return (minutes, LATE_BY_SD_MIN / minutes) if minutes > 0.0 else (None, 0.0)
    if said.gel is None or not (said.kicked or "gel_seen" in said.marks):
        return None, 0.0
    low_s, gel_s, high_s = (
        one - poured_s for one in (said.gel.low_s, said.gel.gel_s, said.gel.high_s)
    )
    if not 0.0 < low_s <= gel_s <= high_s:
        return None, 0.0
    ln_sd = math.log(high_s / low_s) / INTERVAL_SDS
    return (gel_s / 60.0, ln_sd) if ln_sd <= WELL_PLACED_LN_SD else (None, 0.0)


def _not_by(said: Said) -> float | None:
    """Minutes by which it had not gelled, where that was said and nothing came after."""
    if said.poured_s is None or said.late_s is None or said.gel is not None:
        return None
    return max((said.late_s - said.poured_s) / 60.0, 0.0) or None


def steady_equivalent_k(temps_k: Sequence[float]) -> float | None:
    """Give the steady temperature at which as much would have happened; None without a reading.

    exp(-E/RT) is averaged, not T; readings evenly spaced in time.

    >>> round(steady_equivalent_k([293.15, 293.15]), 2)
    293.15
    """
    if not temps_k:
        return None
    scale = MEAN_ACTIVATION_J_PER_MOL / GAS_CONSTANT_J_PER_MOLK
    mean = sum(math.exp(-scale / temp_k) for temp_k in temps_k) / len(temps_k)
    return -scale / math.log(mean)
