"""What the core is told: frames, marks, faults of a link, the passing of time.

Times are seconds of the job's own time line (zero where its record or log begins), a whole number
of milliseconds, so that a stored input is the input. Pressures are absolute Pa on a 0.1 Pa grid,
temperatures K on a 1 mK grid. Missing is None with a reason; never 0, never NaN.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from firmware_host.model.channels import Channel


class Reason(StrEnum):
    """Why a channel has no value in a frame."""

    NOT_READ = "not read"
    """The cell was blank, or the board did not read the chip this time."""
    DRIVER = "driver error"
    """The board's driver reported an error of its own."""
    OPEN = "open"
    """The chip's fault bit, or a reading at the end of the scale: a broken lead."""
    SHORT = "short"
    """A lead touches ground or supply."""
    OUT_OF_RANGE = "out of range"
    """Beyond what the sensor or the converter can mean."""
    DEAD_BUS = "dead bus"
    """All bits alike: nobody answers on the chip's line."""
    UNREADABLE = "unreadable"
    """Not a word of the channel's kind."""


@dataclass(frozen=True, slots=True)
class Group:
    """Channels that arrive together in one frame: a port, or the columns of a log."""

    name: str
    channels: tuple[Channel, ...]
    period_s: float | None
    """Nominal time between frames; None when it has to be learnt from the frames."""


@dataclass(frozen=True, slots=True)
class Frame:
    """One reading of every channel of a group, in the group's order."""

    time_s: float
    group: int
    values: tuple[float | None, ...]
    reasons: tuple[Reason | None, ...]
    """A reason for every None, None for every value."""


@dataclass(frozen=True, slots=True)
class LinkChanged:
    """A port was lost or came back, in the reader's own words."""

    time_s: float
    group: int
    up: bool
    text: str
    limps: bool = False
    """Up, but not as it should be: the text says what is wrong and what to do."""


@dataclass(frozen=True, slots=True)
class Mark:
    """Something the person did, at the time they say they did it."""

    time_s: float
    name: str
    heard_s: float
    """When the board was told; later than `time_s` for "two minutes ago"."""
    note: str = ""


@dataclass(frozen=True, slots=True)
class PliesLaid:
    """So many plies are laid by now; a lower count takes one back."""

    time_s: float
    laid: int


@dataclass(frozen=True, slots=True)
class Tick:
    """Nothing arrived, and it is now this late."""

    time_s: float


@dataclass(frozen=True, slots=True)
class Unseen:
    """A span in which nobody watched: the daemon was off, or a log has no rows."""

    time_s: float
    """Where the span ends and watching goes on."""
    start_s: float
    why: str


@dataclass(frozen=True, slots=True)
class Acknowledge:
    """Somebody has seen an alarm."""

    time_s: float
    alarm_id: str
    by: str


@dataclass(frozen=True, slots=True)
class Shelve:
    """Somebody has put an alarm aside for a while."""

    time_s: float
    alarm_id: str
    by: str
    for_s: float
    why: str


class Care(StrEnum):
    """What the daemon watches of itself."""

    PHONE_PATH = "phone_path"
    """The way to a phone: broker, credentials, rights."""
    RECORDING = "recording"
    """The way to the disk."""
    DISK_DAY = "disk_day"
    """Room on the disk for a day."""
    DISK_HOURS = "disk_hours"
    """Room on the disk for two hours."""


@dataclass(frozen=True, slots=True)
class SelfCheck:
    """Something that the daemon itself must do fails, or works again."""

    time_s: float
    what: Care
    ok: bool
    text: str


Input = Frame | LinkChanged | Mark | PliesLaid | Tick | Unseen | Acknowledge | Shelve | SelfCheck

MARKS = (
    "mixed",
    "dosed",
    "bag_closed",
    "pump_on",
    "pump_off",
    "valve_shut",
    "valve_open",
    "gel_seen",
    "heat_on",
    "heat_off",
    "vacuum_released",
    "demoulded",
)
"""Marks a log may hold; the panel and the command add `abandoned`."""

PRESSURE_GRID = 10
"""Steps per Pa on which pressures are stored and judged."""
TEMPERATURE_GRID = 1000
"""Steps per K on which temperatures are stored and judged."""


def on_grid(value: float, steps_per_unit: int) -> float:
    """Round a reading to the grid on which it is stored, so that a replay sees the same number.

    >>> on_grid(101325.04, PRESSURE_GRID)
    101325.0
    """
    return round(value * steps_per_unit) / steps_per_unit
