"""How many minutes the cup buys, as a range with its source, and the gates counted back from it.

Pure. The gates stand at 0.65 (bag sealed) and 0.8 (last smoothing) of the one-sided 90 % earliest
gel. A window that nothing of this shop supports is judged at its median, so that a first day is
possible, and says so.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum

from firmware_host.history.gaussian import Expected
from firmware_host.history.learn import Learnt, forecast
from firmware_host.history.outcomes import Outcome
from hardware.units import ZERO_CELSIUS_K

SEALED_SHARE = 0.65
SMOOTHED_SHARE = 0.80
ONE_SIDED_90 = 1.2815515655446004
TWO_SIDED_95 = 1.959963984540054
FEW_JOBS = 3
"""Below this a window learnt from jobs is still called wide."""


class WindowSource(StrEnum):
    """What a window rests on."""

    PRESET = "preset"
    SHEET = "sheet"
    CUP = "cup"
    JOBS = "jobs"


@dataclass(frozen=True, slots=True, kw_only=True)
class Window:
    """Minutes from mixing to gel."""

    gel_min: float
    low_min: float
    high_min: float
    earliest_min: float
    """The one-sided 90 % earliest gel; of an unproven window its median."""
    source: WindowSource
    jobs: int

    @property
    def proven(self) -> bool:
        """Whether anything of this shop supports it."""
        return self.source in (WindowSource.CUP, WindowSource.JOBS)

    @property
    def sealed_by_min(self) -> float:
        """When the bag must be closed."""
        return SEALED_SHARE * self.earliest_min

    @property
    def smoothed_by_min(self) -> float:
        """When the last wrinkle must be out."""
        return SMOOTHED_SHARE * self.earliest_min

    @property
    def how_sure(self) -> str:
        """Say in a few words what it rests on."""
        count = f"{self.jobs} job{'' if self.jobs == 1 else 's'}"
        if self.source is WindowSource.JOBS:
            return f"from {count} here" + (": wide" if self.jobs < FEW_JOBS else "")
        if self.source is WindowSource.CUP:
            return f"from your cup, {f'{count} here' if self.jobs else 'no job here yet'}"
        words = (
            "the maker's sheet" if self.source is WindowSource.SHEET else "the resin as described"
        )
        return f"from {words}, nothing of this shop yet: wide"


@dataclass(frozen=True, slots=True, kw_only=True)
class Outlook:
    """What is known of a resin today, ready to be asked for any dose and temperature."""

    known: Learnt
    lot: str
    from_sheet: bool
    shells_of_can: int
    work_seen: tuple[float, ...] = ()
    """Minutes from mixing to bag closed in past jobs, oldest first."""
    cups_seen: tuple[Outcome, ...] = ()
    """Cups of today's can, oldest first: how the can ages."""

    @property
    def last_surprised(self) -> bool:
        """Whether the newest of the learnt jobs fitted nothing before it."""
        return bool(self.known.surprises) and self.known.surprises[-1] == self.known.last_job

    @property
    def source(self) -> WindowSource:
        """What a window would rest on: today's can first, then the shop, then print."""
        if self.cups_seen and not self.shells_of_can:
            return WindowSource.CUP
        if self.known.shells:
            return WindowSource.JOBS
        if self.known.cups:
            return WindowSource.CUP
        return WindowSource.SHEET if self.from_sheet else WindowSource.PRESET

    def window(self, temp_c: float, dose_percent: float) -> Window:
        """Give the window at a steady temperature and a dose."""
        ln_gel = forecast(self.known, temp_c + ZERO_CELSIUS_K, dose_percent, self.lot)
        return window_of(ln_gel, self.source, self.known.shells)


def window_of(ln_gel: Expected, source: WindowSource, jobs: int) -> Window:
    """Lay out the window of an expected ln of minutes."""

    def at(sds: float) -> float:
        return math.exp(ln_gel.mean + sds * ln_gel.sd)

    proven = source in (WindowSource.CUP, WindowSource.JOBS)
    return Window(
        gel_min=at(0.0),
        low_min=at(-TWO_SIDED_95),
        high_min=at(TWO_SIDED_95),
        earliest_min=at(-ONE_SIDED_90 if proven else 0.0),
        source=source,
        jobs=jobs,
    )
