"""Every fault on every channel in every phase, in pairs, and hours with nothing wrong at all.

Bytes of a simulated board go through decoder and core; what is said is held against the truth. A
share is of the faults that had to be found; what cannot be told is only watched for accusations of
others and for alarms about the part.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from multiprocessing import get_context
from statistics import median

from simulations.faults import FaultKind
from tests.bench.counts import Count, Counted
from tests.bench.sensor_faults_runs import (
    HEALTHY,
    PAIR_PHASES,
    PHASES_S,
    Both,
    Case,
    Healthy,
    Seed,
    healthy,
)

NAME = "sensor_faults"
FULL_SEEDS, FULL_HEALTHY = 1, 12
SAMPLE_KINDS = (FaultKind.OPEN, FaultKind.OFF)
SAMPLE_PHASES = ("before pour",)
PROCESSES = 2
FOUND_SHARE = 0.90
BOTH_SHARE = 0.95
FALSE_PER_DAY = 0.3
WEAK_SHARE = 0.90


def _one_phase(seed: int, phase: str) -> tuple[list[Case], list[Both]]:
    benches = Seed(seed, (phase,))
    pairs = list(benches.pairs((phase,))) if phase in PAIR_PHASES else []
    return list(benches.singles(phases=(phase,))), pairs


def _campaign(seed: int) -> tuple[list[Case], list[Both], list[Healthy]]:
    cases: list[Case] = []
    pairs: list[Both] = []
    jobs = [
        (name, 1000 * seed + n) for n in range(FULL_HEALTHY // len(HEALTHY)) for name in HEALTHY
    ]
    shares = [(one, phase) for one in range(seed, seed + FULL_SEEDS) for phase in PHASES_S]
    with get_context("spawn").Pool(PROCESSES) as pool:
        broken = pool.starmap_async(_one_phase, shares, chunksize=1)
        hours = pool.starmap_async(healthy, jobs, chunksize=1)
        for alone, together in broken.get():
            cases += alone
            pairs += together
        return cases, pairs, hours.get()


def _sample(seed: int) -> tuple[list[Case], list[Both], list[Healthy]]:
    benches = Seed(seed, SAMPLE_PHASES, to_end=False)
    return list(benches.singles(SAMPLE_KINDS, SAMPLE_PHASES)), [], []


def run(seed: int, *, full: bool) -> Counted:
    """Break things and count."""
    cases, pairs, hours = _campaign(seed) if full else _sample(seed)
    return Counted(
        name=NAME,
        counts=tuple(_counts(cases, pairs, hours)),
        lines=(*by_kind(cases), "", *weak(cases), "", *of_pairs(pairs), "", *of_hours(hours)),
    )


def _counts(
    cases: Sequence[Case], pairs: Sequence[Both], hours: Sequence[Healthy]
) -> Iterable[Count]:
    due = [case for case in cases if case.since_s is not None]
    in_time = sum(case.in_time for case in due)
    yield Count(what="faults on one channel", value=len(cases))
    yield Count(what="of them to be found", value=len(due), at_least=1)
    yield Count(what="share found in time", value=in_time / len(due), at_least=FOUND_SHARE)
    yield Count(
        what="others accused, of all these runs", value=sum(bool(c.wrong) for c in cases), at_most=0
    )
    yield Count(
        what="alarms about the part from a fault",
        value=sum(bool(c.process) for c in cases),
        at_most=0,
    )
    if pairs:
        owed = [pair for pair in pairs if pair.is_owed]
        both = sum(pair.is_named for pair in owed)
        yield Count(what="pairs of faults", value=len(pairs))
        yield Count(what="share with both named", value=both / len(owed), at_least=BOTH_SHARE)
        yield Count(what="exceptions", value=sum(p.error is not None for p in pairs), at_most=0)
    if hours:
        days = sum(job.hours for job in hours) / 24.0
        false = sum(len(job.accused) for job in hours)
        yield Count(what="hours with nothing wrong", value=24.0 * days)
        yield Count(
            what="false accusations in 24 of them", value=false / days, at_most=FALSE_PER_DAY
        )


def by_kind(cases: Sequence[Case]) -> list[str]:
    """Lay out each kind in each phase."""
    head = (
        f"{'kind':<13} {'phase':<12} {'runs':>5} {'owed':>5} {'in time':>8} {'found':>7} "
        f"{'limit s':>8} {'median s':>9} {'p95 s':>7} {'others':>7} {'alarms':>7}  named as"
    )
    lines = [head]
    for kind in FaultKind:
        for phase in PHASES_S:
            own = [case for case in cases if case.fault.kind is kind and case.phase == phase]
            if own:
                lines.append(f"{kind:<13} {phase:<12} {_row(own)}")
    return lines


def _row(own: Sequence[Case]) -> str:
    due = [case for case in own if case.since_s is not None]
    delays = sorted(case.delay_s for case in due if case.delay_s is not None)
    in_time = f"{sum(case.in_time for case in due) / len(due):8.2f}" if due else f"{'-':>8}"
    found = sum(case.found_s is not None for case in own) / len(own)
    middle = f"{median(delays):9.1f}" if delays else f"{'-':>9}"
    late = (
        f"{delays[min(len(delays) - 1, int(0.95 * len(delays)))]:7.1f}" if delays else f"{'-':>7}"
    )
    names = Counter(case.found_as for case in own if case.found_as is not None)
    return (
        f"{len(own):>5} {len(due):>5} {in_time} {found:7.2f} {own[0].limit_s:8.1f} {middle} {late} "
        f"{sum(bool(c.wrong) for c in own):>7} {sum(bool(c.process) for c in own):>7}  "
        + ", ".join(f"{name} {count}" for name, count in names.most_common(3))
    )


def weak(cases: Sequence[Case]) -> list[str]:
    """Name the channels and phases where a fault is found too seldom, and who else was accused."""
    lines = [
        "found too seldom (share in time of those owed, then delays; later: past the limit + 60 s):"
    ]
    lines += _weak(cases, lambda case: f"{case.fault.kind} {case.fault.channel} {case.phase}")
    others = Counter(
        f"{case.fault.kind} {case.fault.channel} {case.phase}: {channel} as {kind}"
        for case in cases
        for channel, kind in dict.fromkeys(case.wrong)
    )
    lines += ["others accused:", *(f"  {what} ({count})" for what, count in others.most_common())]
    alarms = Counter(
        f"{case.fault.kind} {case.fault.channel} {case.phase}: {name}"
        for case in cases
        for name in dict.fromkeys(case.process)
    )
    return [*lines, "alarms:", *(f"  {what} ({count})" for what, count in alarms.most_common())]


def _weak(cases: Sequence[Case], key: Callable[[Case], str]) -> list[str]:
    groups: dict[str, list[Case]] = {}
    for case in cases:
        if case.since_s is not None:
            groups.setdefault(key(case), []).append(case)
    lines = []
    for name, own in groups.items():
        share = sum(case.in_time for case in own) / len(own)
        if share < WEAK_SHARE:
            delays = ["later" if c.delay_s is None else f"{c.delay_s:.0f} s" for c in own]
            lines.append(f"  {name}: {share:.2f} of {len(own)}: {', '.join(delays)}")
    return lines


def of_pairs(pairs: Sequence[Both]) -> list[str]:
    """Count the pairs, and name those of which one stayed unnamed."""
    owed = [pair for pair in pairs if pair.is_owed]
    missed = Counter(
        f"{_named(case)} beside {_named(other)}"
        for pair in owed
        for case, other in (pair.cases, pair.cases[::-1])
        if case.found_s is None
    )
    both = sum(pair.is_named for pair in owed)
    return [
        f"pairs: {len(pairs)}, both to be found {len(owed)}, both named {both}",
        *(f"  missed {what} ({count})" for what, count in missed.most_common(60)),
    ]


def _named(case: Case) -> str:
    return f"{case.fault.kind} {case.fault.channel} ({case.phase})"


def of_hours(hours: Sequence[Healthy]) -> list[str]:
    """Count what was said of channels that told the truth."""
    said = Counter(
        f"{job.scenario}: {channel} as {kind}" for job in hours for channel, kind, _ in job.accused
    )
    total = sum(job.hours for job in hours)
    return [
        f"healthy: {len(hours)} jobs, {total:.0f} h",
        *(f"  {what} ({count})" for what, count in said.most_common()),
    ]
