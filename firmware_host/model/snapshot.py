"""Everything a client may see, newest state only. Core fills `View`, the shell adds its own health.

Times are seconds of the job's time line; `wall` and `zero_wall` let a client turn them into dates.
A number that is not known is None; a client that shows anything else in its place is wrong.
"""

from __future__ import annotations

from dataclasses import dataclass

from firmware_host.model.events import AlarmState, CureForeseen, CureState, Phase, Verdict
from firmware_host.model.quality import Quality

SCHEMA = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class ChannelView:
    """One channel as it stands."""

    name: str
    value: float | None
    """Pa absolute or K; None when nothing believable is newer than the channel's time-out."""
    age_s: float | None
    """Since the last believed reading; None when there never was one."""
    fault: str | None
    """Why there is no value, in a word."""
    quality: Quality = Quality.GOOD
    why: str | None = None
    """What keeps the newest reading from being good, in a word or two."""


@dataclass(frozen=True, slots=True, kw_only=True)
class DropTestView:
    """The drop test that runs, or the last one."""

    number: int
    start_s: float
    end_s: float
    running: bool
    verdict: Verdict
    decided_s: float | None
    rise_pa_per_s: float | None
    rise_low_pa_per_s: float | None
    rise_high_pa_per_s: float | None
    limit_pa_per_s: float


@dataclass(frozen=True, slots=True, kw_only=True)
class LaminateView:
    """What the believed couples of the laminate say together."""

    mean_k: float
    low_k: float
    high_k: float
    """95 %, the uncertainty of where they lie included."""
    hottest_k: float
    hottest: str
    """Channel that shows it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class BagView:
    """Leak, pump and depth as they stand between drop tests."""

    leak_pa_per_s: float | None
    """Newest estimate of air leaking in, as the rise of the shut bag."""
    leak_low_pa_per_s: float | None
    leak_high_pa_per_s: float | None
    limit_soonest_s: float | None
    """Until the pressure limit if nothing pulled from now on; None where it is not in sight."""
    limit_latest_s: float | None
    """None beyond a day."""
    pull_down_s: float | None
    """Volume over effective pumping speed, by the newest pull-down."""
    pumping_m3_per_s: float | None
    """Effective pumping speed; None while the bag's volume is not known."""
    deepest_wise_pa: float | None
    """Lowest bag pressure that neither boils something nor crushes the form."""
    deepest_why: str | None = None
    """What rules that: styrene, water, solvent, form, gauge or pump."""
    depth_margin_pa: float | None = None
    """Bag pressure above the lowest wise one; below 0 it is too deep."""
    possible_pa: float | None = None
    """Lowest pressure that this pump reaches in this bag."""
    station_pa: float | None = None
    """Room pressure as measured, typed or usual at the altitude: the deepest vacuum there is."""
    water_bound_pa: float | None = None
    """Below it trapped water makes bubbles, whether or not there is any."""
    limit_against_kick: str | None = None
    """Whether the vacuum ends before, after, or unsure of the kick; `kicked` once it is past."""
    below_limit_s: float | None = None
    """Until a pulling pump has the bag below its limit; None where it is, or never gets there."""
    leak_cm3_per_min: float | None = None
    """The leak as room air; None while the bag's volume is not known."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CureView:
    """The resin: before gel a window, after it a conversion."""

    state: CureState
    gel_past_probability: float
    gel_s: float | None
    gel_low_s: float | None
    gel_early_s: float | None
    """One-sided 90 % earliest gel: what the gates of the work time count from."""
    gel_high_s: float | None
    """Forecast before the gel, the past event after it."""
    conversion: float | None
    conversion_low: float | None
    conversion_high: float | None
    """Only after gel."""
    late: bool = False
    """It kicked after it had been called late."""
    why: tuple[str, ...] = ()
    """What the state rests on, or what is still missing, in words."""
    inhibitor: tuple[float, float, float] | None = None
    """Share that is burnt, 5, 50 and 95 %; None for a resin without, and once all of it is."""
    ahead: CureForeseen | None = None
    """The way from here; None from a daemon that does not tell, or before anything was seen."""


@dataclass(frozen=True, slots=True, kw_only=True)
class WorkView:
    """The work clock, from mixing on."""

    sealed_by_s: float | None
    smoothed_by_s: float | None
    """Counted as the plan counts them; None where no temperature is known."""
    kick_low_s: float | None
    kick_high_s: float | None
    """95 %."""
    proven: bool
    """Whether a cup or a job of this shop supports the window."""
    plies_laid: int
    plies: int
    """0 where the job file names none."""
    next_ply: str
    """What to take up next, in words; empty where all is laid."""
    second_cup_s: float | None
    """When a further cup was mixed; the window follows the oldest."""
    second_cup_by_s: float | None
    """When the plan has it mixed; None where one cup was planned."""
    poured_percent: float | None
    """Initiator as poured; None where nobody said."""
    poured_doubt: str
    """What is wrong with it, in a few words."""


@dataclass(frozen=True, slots=True, kw_only=True)
class AlarmView:
    """An alarm that is not clear."""

    id: str
    name: str
    channel: str | None
    state: AlarmState
    priority: str
    raised_s: float
    text: str
    action: str
    shelved_until_s: float | None = None
    """When a shelved alarm comes back."""


@dataclass(frozen=True, slots=True, kw_only=True)
class View:
    """What the core knows now."""

    time_s: float
    phase: Phase
    phase_since_s: float
    mixed_s: float | None
    work_time_s: float
    """Honest time from mixing to bag closed, as the job states it."""
    latest_gel_s: float | None
    usual_mark: str | None
    """The mark that usually comes next."""
    channels: tuple[ChannelView, ...]
    pressure_limit_pa: float
    drop_rule: str
    """The drop limit in the person's words."""
    highest_temperature_k: float
    drop_test: DropTestView | None
    cure: CureView | None
    alarms: tuple[AlarmView, ...]
    unseen_s: float
    """Total of the spans in which nobody watched."""
    room_pa: float | None = None
    """By barometer, else as the bag itself read before it was pumped; None where neither told."""
    bag: BagView | None = None
    """None from a daemon that does not tell."""
    laminate: LaminateView | None = None
    """None where no couple of the laminate is believed."""
    work: WorkView | None = None
    """None before anything was mixed."""
    doubts: tuple[str, ...] = ()
    """What the first minutes left in question, in words: a zero, a typed pressure."""


def ply_to_lay(view: View) -> int | None:
    """Give the count that the next press makes, while resin is worked and a ply is left."""
    work = view.work
    if view.phase is not Phase.WORKING or work is None or work.plies_laid >= work.plies:
        return None
    return work.plies_laid + 1


@dataclass(frozen=True, slots=True, kw_only=True)
class LinkView:
    """One port, as its reader sees it."""

    name: str
    up: bool
    text: str
    frames: int
    damaged: int
    lost: int
    limps: bool = False
    """Up, but not as it should be; the text says what is wrong."""


@dataclass(frozen=True, slots=True, kw_only=True)
class RecordHead:
    """One line that stands for all that the record held when it was said."""

    inputs: int
    """Number of the last input before it."""
    sha256: str
    """Hash of the chain up to there, in hex digits."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Snapshot:
    """The line a client receives."""

    schema: int
    version: str
    bench: str
    part: str
    folder: str
    wall: str
    """RFC 3339 with offset, at the moment the snapshot was made."""
    zero_wall: str
    """Date and time of the job's zero."""
    clock_rate: float
    stored_rows: int
    """Frames whose synced commit has returned."""
    stored_age_s: float | None
    """Time since that commit."""
    links: tuple[LinkView, ...]
    view: View
    broker: str = ""
    """The host that passes word to phones; empty where the bench file names none."""
    head: RecordHead | None = None
    """Of what is on the disk; None before the first minute or so is."""
