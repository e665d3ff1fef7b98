"""What happened in a job, gathered from its events: each thing once, with its last word.

Pure. Times are seconds of the job's time line.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from firmware_host.model.events import (
    AlarmChanged,
    AlarmState,
    ChannelLearnt,
    CureEstimated,
    CureForeseen,
    CureMoved,
    Event,
    GapSeen,
    GelForecast,
    GelPlaced,
    LeakChecked,
    MarkTaken,
    Phase,
    PhaseEntered,
    SensorFaultChanged,
    ZeroFound,
)
from firmware_host.model.samples import Acknowledge, Input, Shelve
from firmware_host.report.tally import Span

SAME_CAUSE_S = 2.0
"""Faults of several channels that began this close together are told as one."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Pour:
    """When the resin was mixed."""

    time_s: float
    assumed: bool
    """Nobody marked it: the honest work time before the bag was closed."""


@dataclass(frozen=True, slots=True, kw_only=True)
class AlarmLife:
    """One alarm from its cause to its end."""

    id: str
    name: str
    channel: str | None
    priority: str
    raised_s: float
    said_s: float
    """When it was first said; later than `raised_s` by its delay."""
    text: str
    action: str
    seen_s: float | None = None
    """When somebody acknowledged it."""
    seen_by: str = ""
    cleared_s: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Fault:
    """A span in which a channel was not believed."""

    channel: str
    kind: str
    start_s: float
    end_s: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Gap:
    """A span in which nobody watched."""

    span: Span
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Story:
    """Everything that was said of a job."""

    pour: Pour | None
    phases: tuple[PhaseEntered, ...]
    marks: tuple[MarkTaken, ...]
    tests: tuple[LeakChecked, ...]
    """The last word on each drop test."""
    cure: tuple[CureEstimated, ...]
    forecasts: tuple[GelForecast, ...]
    gel: GelPlaced | None
    moves: tuple[CureMoved, ...]
    """Each word of the resin, as it changed."""
    foreseen: tuple[CureForeseen, ...]
    alarms: tuple[AlarmLife, ...]
    faults: tuple[Fault, ...]
    zeros: tuple[ZeroFound, ...]
    learnt: tuple[ChannelLearnt, ...]
    gaps: tuple[Gap, ...]
    last_s: float
    """Where the record ends."""

    @property
    def phase(self) -> Phase:
        """Where the job stands."""
        return self.phases[-1].phase if self.phases else Phase.PLANNED

    @property
    def is_over(self) -> bool:
        """Whether the job has ended."""
        return self.phase in (Phase.CLOSED, Phase.ABANDONED)

    @property
    def released_s(self) -> float | None:
        """When vacuum was let go."""
        return self._since(Phase.RELEASED)

    @property
    def end_s(self) -> float:
        """When the job ended; where the record ends, while it runs."""
        return self.phases[-1].since_s if self.is_over else self.last_s

    @property
    def watch(self) -> Span:
        """The span that mattered: from the pour to the release of vacuum, or to the end."""
        start_s = self.pour.time_s if self.pour else 0.0
        released_s = self.released_s
        return Span(max(start_s, 0.0), self.end_s if released_s is None else released_s)

    def blind(self, channel: str) -> tuple[Span, ...]:
        """Spans in which a channel was not believed."""
        return tuple(
            Span(fault.start_s, self.last_s if fault.end_s is None else fault.end_s)
            for fault in self.faults
            if fault.channel == channel
        )

    def _since(self, phase: Phase) -> float | None:
        return next((held.since_s for held in self.phases if held.phase is phase), None)


def tell(
    events: Sequence[Event], others: Iterable[Input], *, work_s: float, last_s: float
) -> Story:
    """Gather a job's events, and the inputs that are no frames, into its story."""
    phases = tuple(event for event in events if isinstance(event, PhaseEntered))
    marks = tuple(event for event in events if isinstance(event, MarkTaken))
    gels = [event for event in events if isinstance(event, GelPlaced)]
    tests = {event.number: event for event in events if isinstance(event, LeakChecked)}
    return Story(
        pour=_pour(phases, marks, work_s),
        phases=phases,
        marks=marks,
        tests=tuple(tests.values()),
        cure=tuple(event for event in events if isinstance(event, CureEstimated)),
        forecasts=tuple(event for event in events if isinstance(event, GelForecast)),
        gel=gels[-1] if gels else None,
        moves=tuple(event for event in events if isinstance(event, CureMoved)),
        foreseen=tuple(event for event in events if isinstance(event, CureForeseen)),
        alarms=_alarms(events, others),
        faults=_faults(events),
        zeros=tuple(event for event in events if isinstance(event, ZeroFound)),
        learnt=tuple(event for event in events if isinstance(event, ChannelLearnt)),
        gaps=tuple(
            Gap(span=Span(event.start_s, event.time_s), why=event.why)
            for event in events
            if isinstance(event, GapSeen)
        ),
        last_s=last_s,
    )


def by_cause(alarms: Iterable[AlarmLife]) -> list[list[AlarmLife]]:
    """Put alarms of several channels with one cause together: a pulled cable is one thing."""
    causes: list[list[AlarmLife]] = []
    for life in alarms:
        last = causes[-1][0] if causes else None
        same = (
            last is not None
            and None not in (life.channel, last.channel)
            and life.name == last.name
            and life.raised_s - last.raised_s <= SAME_CAUSE_S
        )
        if same:
            causes[-1].append(life)
        else:
            causes.append([life])
    return causes


def joined(spans: Iterable[Span], within: Span) -> tuple[Span, ...]:
    """Join spans that touch, as far as they lie within another.

    >>> joined([Span(5.0, 9.0), Span(0.0, 6.0)], Span(2.0, 20.0))
    (Span(start_s=2.0, end_s=9.0),)
    """
    whole: list[Span] = []
    for span in sorted(spans, key=lambda span: span.start_s):
        start_s, end_s = max(span.start_s, within.start_s), min(span.end_s, within.end_s)
        if end_s <= start_s:
            continue
        if whole and start_s <= whole[-1].end_s:
            whole[-1] = Span(whole[-1].start_s, max(whole[-1].end_s, end_s))
        else:
            whole.append(Span(start_s, end_s))
    return tuple(whole)


def shared(one: Sequence[Span], other: Sequence[Span]) -> tuple[Span, ...]:
    """Give what two lists of spans have in common."""
    return tuple(part for span in one for part in joined(other, span))


def _pour(phases: Sequence[PhaseEntered], marks: Sequence[MarkTaken], work_s: float) -> Pour | None:
    for mark in marks:
        if mark.name == "mixed" and mark.taken:
            return Pour(time_s=mark.at_s, assumed=False)
    for held in phases:
        if held.phase is Phase.DRAWDOWN:
            return Pour(time_s=held.since_s - work_s, assumed=True)
    return None


def _alarms(events: Sequence[Event], others: Iterable[Input]) -> tuple[AlarmLife, ...]:
    seen_by = {
        given.alarm_id: given.by for given in others if isinstance(given, Acknowledge | Shelve)
    }
    lives: dict[str, AlarmLife] = {}
    for event in events:
        if isinstance(event, AlarmChanged):
            lives[event.id] = _lived_on(lives.get(event.id), event, seen_by.get(event.id, ""))
    return tuple(sorted(lives.values(), key=lambda life: (life.raised_s, life.said_s)))


_SEEN = (AlarmState.ACKNOWLEDGED, AlarmState.SHELVED, AlarmState.CLEAR)


def _lived_on(life: AlarmLife | None, event: AlarmChanged, seen_by: str) -> AlarmLife:
    before = life or AlarmLife(
        id=event.id,
        name=event.name,
        channel=event.channel,
        priority=event.priority,
        raised_s=event.raised_s,
        said_s=event.time_s,
        text=event.text,
        action=event.action,
    )
    returned = event.state in (AlarmState.RETURNED, AlarmState.CLEAR)
    cleared_s = event.cleared_s if returned else None
    now_seen = before.seen_s is None and event.state in _SEEN
    return replace(
        before,
        cleared_s=cleared_s,
        seen_s=event.time_s if now_seen else before.seen_s,
        seen_by=seen_by if now_seen else before.seen_by,
    )


def _faults(events: Sequence[Event]) -> tuple[Fault, ...]:
    held: dict[tuple[str, float], Fault] = {}
    for event in events:
        if isinstance(event, SensorFaultChanged):
            held[event.channel, event.start_s] = Fault(
                channel=event.channel, kind=event.kind, start_s=event.start_s, end_s=event.end_s
            )
    return tuple(held.values())
