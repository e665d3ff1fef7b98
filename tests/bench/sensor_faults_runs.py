"""One seed of the campaign: every fault alone, all pairs of two, and the healthy job itself."""

from __future__ import annotations

import random
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations_with_replacement

from simulations.faults import Fault, FaultKind
from simulations.sensors import PLACES
from tests.bench.sensor_faults_bench import Heard, JobBench, story
from tests.bench.sensor_faults_cases import WATCHED_S, Owed, faults_of, owed, takes

PHASES_S = {
    "start": 0.0,
    "before pour": 170.0,
    "working": 700.0,
    "waiting": 2600.0,
    "kicked": 3750.0,
    "cooling": 5600.0,
}
"""When a fault begins, give or take JITTER_S; one of the start was there before the bench."""
JITTER_S = 60.0
WIRED_WRONG = (
    FaultKind.STUCK,
    FaultKind.WRONG,
    FaultKind.DETACHED,
    FaultKind.SWAPPED,
    FaultKind.REVERSED,
    FaultKind.BRIDGED,
)
"""Kinds that may be there before anything is heard and still look like a reading."""
PAIR_PHASES = ("kicked",)
HEALTHY = ("healthy", "cold", "cycling_leak", "leak", "settling", "pump_worn")
"""Scenarios in which every channel tells the truth."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Case:
    """One fault and what became of it."""

    seed: int
    phase: str
    fault: Fault
    since_s: float | None
    """From when it had to be found; None where it cannot be told."""
    limit_s: float
    found_s: float | None
    found_as: str | None
    wrong: tuple[tuple[str, str], ...]
    """(channel, kind) of channels that were accused and had nothing."""
    process: tuple[str, ...]
    """Alarms about the part that the healthy job does not have at that time."""

    @property
    def in_time(self) -> bool:
        """Whether it was found before its limit."""
        if self.found_s is None or self.since_s is None:
            return False
        return self.found_s <= self.since_s + self.limit_s

    @property
    def delay_s(self) -> float | None:
        """From when it had to be found to when it was; 0 for what was found before."""
        if self.found_s is None or self.since_s is None:
            return None
        return max(0.0, self.found_s - self.since_s)


@dataclass(frozen=True, slots=True, kw_only=True)
class Both:
    """Two faults that began together."""

    kinds: tuple[FaultKind, FaultKind]
    cases: tuple[Case, ...]
    """None of them where the run ended in an exception."""
    error: str | None

    @property
    def is_owed(self) -> bool:
        """Whether both had to be found."""
        return bool(self.cases) and all(case.since_s is not None for case in self.cases)

    @property
    def is_named(self) -> bool:
        """Whether both were."""
        return bool(self.cases) and all(case.found_s is not None for case in self.cases)


@dataclass(frozen=True, slots=True, kw_only=True)
class Healthy:
    """A job with nothing wrong."""

    scenario: str
    seed: int
    hours: float
    accused: tuple[tuple[str, str, float], ...]


class Seed:
    """One plant, and benches that have come to know it up to the moments where faults begin."""

    def __init__(
        self, seed: int, phases: Sequence[str] = tuple(PHASES_S), *, to_end: bool = True
    ) -> None:
        """Live through the job, to its end or to the last of these phases."""
        self.seed = seed
        self._rng = random.Random(f"{seed}:{','.join(phases)}")
        self._story = story("healthy", seed)
        self._begins = {
            phase: self._story.first_at(at_s and at_s + self._rng.uniform(-JITTER_S, JITTER_S))
            for phase, at_s in PHASES_S.items()
            if phase in phases
        }
        self._benches: dict[str, JobBench] = {}
        bench = JobBench(self._story)
        for number, moment in enumerate(self._story.moments):
            for phase, begin in self._begins.items():
                if begin == number:
                    self._benches[phase] = bench.broken(())
            if not to_end and len(self._benches) == len(self._begins):
                break
            bench.live(moment)
        self._healthy = bench.heard

    def singles(
        self, kinds: Sequence[FaultKind] = tuple(FaultKind), phases: Sequence[str] = tuple(PHASES_S)
    ) -> Iterator[Case]:
        """Break every channel in every way, once in each phase."""
        for kind in kinds:
            for phase in phases:
                if phase == "start" and kind not in WIRED_WRONG:
                    continue
                for channel in PLACES:
                    if takes(channel, kind):
                        (case,) = self._run((self._fault(channel, kind, phase),), phase)
                        yield case

    def pairs(self, phases: Sequence[str] = PAIR_PHASES) -> Iterator[Both]:
        """Put every two kinds on two channels, drawn from the seed."""
        for kinds in combinations_with_replacement(FaultKind, 2):
            for phase in phases:
                yield self._both(kinds, phase)

    def _both(self, kinds: tuple[FaultKind, ...], phase: str) -> Both:
        faults: list[Fault] = []
        taken: set[str] = set()
        for kind in kinds:
            able = [name for name in PLACES if takes(name, kind)]
            fits = [
                fault
                for fault in (self._fault(name, kind, phase) for name in able)
                if not taken & _channels(fault)
            ]
            faults.append(self._rng.choice(fits))
            taken |= _channels(faults[-1])
        try:
            first, second = self._run(tuple(faults), phase)
        except Exception as error:  # noqa: BLE001 - what is counted here is any exception at all
            return Both(kinds=(kinds[0], kinds[1]), cases=(), error=repr(error))
        return Both(kinds=(kinds[0], kinds[1]), cases=(first, second), error=None)

    def _fault(self, channel: str, kind: FaultKind, phase: str) -> Fault:
        return faults_of(channel, kind, self._story.moments[self._begins[phase]].at_s)

    def _run(self, faults: tuple[Fault, ...], phase: str) -> list[Case]:
        begin = self._begins[phase]
        bench = self._benches[phase].broken(faults)
        debts = [owed(fault, self._story, begin) for fault in faults]
        until_s = max(map(_until_s, debts, faults))
        for moment in self._story.moments[begin:]:
            if moment.at_s > until_s:
                break
            bench.live(moment)
        broken = set().union(*map(_channels, faults))
        wrong = tuple((f.channel, f.kind) for f in bench.heard.faults if f.channel not in broken)
        process = self._process(bench.heard, until_s)
        return [
            self._case(fault, debt, bench.heard, wrong, process, phase)
            for fault, debt in zip(faults, debts, strict=True)
        ]

    def _case(
        self,
        fault: Fault,
        debt: Owed,
        heard: Heard,
        wrong: tuple[tuple[str, str], ...],
        process: tuple[str, ...],
        phase: str,
    ) -> Case:
        named = [found for found in heard.faults if found.channel in _channels(fault)]
        found_s = named[0].time_s if named else None
        found_as = named[0].kind if named else None
        if fault.kind is FaultKind.NOISY:
            found_s, found_as = heard.doubted_s.get(fault.channel), "doubtful"
        return Case(
            seed=self.seed,
            phase=phase,
            fault=fault,
            since_s=debt.since_s,
            limit_s=debt.limit_s,
            found_s=found_s,
            found_as=found_as if found_s is not None else None,
            wrong=wrong,
            process=process,
        )

    def _process(self, heard: Heard, until_s: float) -> tuple[str, ...]:
        usual = {alarm.name for alarm in self._healthy.alarms if alarm.time_s <= until_s}
        return tuple(
            alarm.name
            for alarm in heard.alarms
            if alarm.name != "sensor_fault" and alarm.name not in usual
        )


def healthy(name: str, seed: int) -> Healthy:
    """Run a job with nothing wrong with its channels."""
    told = story(name, seed)
    bench = JobBench(told)
    for moment in told.moments:
        bench.live(moment)
    return Healthy(
        scenario=name,
        seed=seed,
        hours=told.moments[-1].at_s / 3600.0,
        accused=tuple((f.channel, f.kind, f.time_s) for f in bench.heard.faults),
    )


def _channels(fault: Fault) -> set[str]:
    return {fault.channel} if fault.other is None else {fault.channel, fault.other}


def _until_s(debt: Owed, fault: Fault) -> float:
    if debt.since_s is None:
        return fault.start_s + WATCHED_S
    return debt.since_s + debt.limit_s + 60.0
