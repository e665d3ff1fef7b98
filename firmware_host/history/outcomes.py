"""What one past pour, or one cup, says about its resin: the facts that learning and lists need.

Pure. Made once from a job folder; everything later works on these and never opens a record again.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from hardware.units import ZERO_CELSIUS_K

LONGEST_MIN = 100_000.0
COLDEST_K, HOTTEST_K = 233.15, 393.15
"""-40 to 120 degC; outside, a line was changed by hand."""


class Kind(StrEnum):
    """Where the resin was."""

    SHELL = "shell"
    CUP = "cup"


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """One gel that was seen, or one that had not come when somebody stopped looking."""

    job: str
    """Name of the job folder; of a typed cup test, the words that identify it."""
    part: str = ""
    on: date | None = None
    kind: Kind = Kind.SHELL
    resin: str
    """Family, and the sheet's name where there is one: what tells this resin from others."""
    lot: str = ""
    """Of the resin; empty where nobody noted it."""
    form: str = ""
    dose_percent: float = 0.0
    temp_k: float | None = None
    """The steady temperature that would have taken as long."""
    shop_c: float | None = None
    gel_min: float | None = None
    gel_ln_sd: float = 0.0
    """How well the gel could be placed."""
    not_by_min: float | None = None
    """No gel until then, and nothing seen after."""
    opened: date | None = None
    """When that can was opened."""
    work_min: float | None = None
    """From mixing to bag closed, as marked."""
    drop_test: str = ""
    """Verdict of the last one."""
    alarms: tuple[str, ...] = ()
    resin_fraction: float | None = None
    """From the weighings, where there were any."""

    @property
    def teaches(self) -> bool:
        """Whether learning can use it."""
        minutes = self.gel_min if self.gel_min is not None else self.not_by_min
        if minutes is None or not 0.0 < minutes < LONGEST_MIN or self.dose_percent < 0.0:
            return False
        return self.temp_k is not None and COLDEST_K < self.temp_k < HOTTEST_K

    @property
    def temp_c(self) -> float | None:
        """That temperature in degC, for people."""
        return None if self.temp_k is None else self.temp_k - ZERO_CELSIUS_K

    @property
    def days_open(self) -> int | None:
        """Age of the open can on that day."""
        if self.on is None or self.opened is None:
            return None
        return (self.on - self.opened).days
