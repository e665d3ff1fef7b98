"""What the core answers: facts, each with the time it was said.

Every event is stored and can be compared: a record replayed gives the same events bit for bit.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Phase(StrEnum):
    """Where the job stands."""

    PLANNED = "planned"
    DRY_BAG = "dry_bag"
    WORKING = "working"
    DRAWDOWN = "drawdown"
    WAITING = "waiting"
    KICKED = "kicked"
    COOLING = "cooling"
    RELEASED = "released"
    CLOSED = "closed"
    ABANDONED = "abandoned"


class Verdict(StrEnum):
    """What a drop test says."""

    TIGHT = "tight"
    LEAKING = "leaking"
    UNDECIDED = "undecided"


class AlarmState(StrEnum):
    """Where an alarm stands in its life."""

    CLEAR = "clear"
    ACTIVE = "active"
    ACKNOWLEDGED = "acknowledged"
    RETURNED = "returned"
    """The cause is gone but nobody has said they saw it."""
    SHELVED = "shelved"
    """Somebody has put it aside for a while; its cause may hold or not."""


class CureState(StrEnum):
    """What is known of the resin, in one word."""

    NOT_OBSERVABLE = "not_observable"
    WAITING = "waiting"
    LATE = "late"
    NO_KICK = "no_kick"
    KICKED = "kicked"
    DIED = "died"
    DOUBTED = "doubted"
    COOLING = "cooling"
    MAY_REST = "may_rest"
    MAY_PULL = "may_pull"


@dataclass(frozen=True, slots=True, kw_only=True)
class PhaseEntered:
    """The job moved on."""

    time_s: float
    phase: Phase
    since_s: float
    """When it began; earlier than `time_s` where the mark came late."""


@dataclass(frozen=True, slots=True, kw_only=True)
class MarkTaken:
    """A mark was heard and believed, or heard and set aside with the reason."""

    time_s: float
    name: str
    at_s: float
    taken: bool
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PliesCounted:
    """So many plies are laid."""

    time_s: float
    laid: int
    plies: int


@dataclass(frozen=True, slots=True, kw_only=True)
class LeakChecked:
    """A drop test as it stands; `final` once it is over."""

    time_s: float
    number: int
    """Counts the tests of a job from 1."""
    start_s: float
    end_s: float
    decided_s: float | None
    rise_pa_per_s: float | None
    """Part of the rise that is air leaking in, over the span; None before enough was seen."""
    rise_low_pa_per_s: float | None
    rise_high_pa_per_s: float | None
    whole_rise_pa_per_s: float | None
    """Slope of a straight line: leak, settling and outgassing together."""
    limit_pa_per_s: float
    verdict: Verdict
    final: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class CureEstimated:
    """Laminate-mean conversion, with its 95 % interval."""

    time_s: float
    conversion: float
    low: float
    high: float


@dataclass(frozen=True, slots=True, kw_only=True)
class GelForecast:
    """When the laminate gels at the present temperature, with the 95 % interval."""

    time_s: float
    gel_s: float
    low_s: float
    high_s: float


@dataclass(frozen=True, slots=True, kw_only=True)
class GelPlaced:
    """The gel as a past event; a later one replaces an earlier one."""

    time_s: float
    gel_s: float
    low_s: float
    high_s: float


Range = tuple[float | None, float | None, float | None]
"""5, 50 and 95 %, on the job's time line; None where it lies beyond what was foreseen."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CureMoved:
    """What is known of the resin changed its word."""

    time_s: float
    state: CureState
    late: bool
    """It kicked after it had been called late."""
    why: tuple[str, ...]
    """What the word rests on, or what is still missing, in words."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CaseAhead:
    """When each thing comes in one room; what is past is None throughout."""

    warmed_k: float | None
    """Laminate's surroundings brought to this; None: as they are now."""
    gel_s: Range
    onset_s: Range
    """First 1.5 K of warmth."""
    peak_s: Range
    hottest_k: tuple[float, float, float]
    """Of laminate or mould, from now on."""
    rest_s: Range
    """Vacuum may come off."""
    pull_s: Range
    """The part may be pulled."""
    target_s: Range = (None, None, None)
    """The conversion that the job asks for."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CureForeseen:
    """The resin's way from here, as it is and warmed."""

    time_s: float
    governs: str | None
    """The couple that the coldest believed part of the laminate shows; None where none does."""
    cases: tuple[CaseAhead, ...]
    """As it is first; then the warmest that is safe for resin and form, where warming helps."""
    warm_to_k: float | None
    """How warm laminate and air may be made; None where warming is not wise or of no use."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SensorFaultChanged:
    """A channel is found lying or silent, or is believed again."""

    time_s: float
    channel: str
    kind: str
    start_s: float
    end_s: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class ZeroFound:
    """What a channel read beside what it should have, before anything happened."""

    time_s: float
    channel: str
    against: str
    """`couples`, the barometer's name, or `typed` for the station pressure as stated."""
    offset: float
    """Pa or K; positive means that the channel reads high."""
    taken_off: bool
    """Whether estimates take it off; a gauge's offset at room pressure is only told."""
    sound: bool
    """False where it is too large for a zero, or what it was held against is in question."""
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ChannelLearnt:
    """What a channel has shown of itself: its ordinary noise and its usual step."""

    time_s: float
    channel: str
    noise: float
    """One standard deviation of a reading, Pa or K."""
    step: float | None
    """Pa or K; None where it hardly ever changed."""
    tells_stuck: bool
    """False: too quiet for its step, so that a stuck code cannot be told from a still level."""


@dataclass(frozen=True, slots=True, kw_only=True)
class AlarmChanged:
    """One transition of one alarm."""

    time_s: float
    id: str
    name: str
    channel: str | None
    state: AlarmState
    priority: str
    raised_s: float
    cleared_s: float | None
    text: str
    action: str
    shelved_until_s: float | None = None
    """When a shelved alarm comes back."""


@dataclass(frozen=True, slots=True, kw_only=True)
class GapSeen:
    """A span in which nothing was watched; nothing is drawn across it."""

    time_s: float
    start_s: float
    why: str


Event = (
    PhaseEntered
    | MarkTaken
    | PliesCounted
    | LeakChecked
    | CureEstimated
    | GelForecast
    | GelPlaced
    | CureMoved
    | CureForeseen
    | SensorFaultChanged
    | ZeroFound
    | ChannelLearnt
    | AlarmChanged
    | GapSeen
)

EVENT_KINDS: dict[str, type[Event]] = {
    "phase": PhaseEntered,
    "mark": MarkTaken,
    "plies": PliesCounted,
    "leak_check": LeakChecked,
    "cure": CureEstimated,
    "forecast": GelForecast,
    "gel": GelPlaced,
    "cure_state": CureMoved,
    "foreseen": CureForeseen,
    "sensor_fault": SensorFaultChanged,
    "zero": ZeroFound,
    "learnt": ChannelLearnt,
    "alarm": AlarmChanged,
    "gap": GapSeen,
}
"""The word under which each event is stored."""
