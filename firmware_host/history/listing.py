"""Past jobs as a list: filtered, and two of them side by side with what differs first. Pure."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from firmware_host.history.outcomes import Outcome


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """Which jobs; an empty text or None asks for any."""

    form: str = ""
    resin: str = ""
    lot: str = ""
    warmest_c: float | None = None
    coldest_c: float | None = None

    def holds(self, job: Outcome) -> bool:
        """Whether a job is one of them; words may be part of a name, in any case."""
        words = ((self.form, job.form), (self.resin, job.resin), (self.lot, job.lot))
        if any(word.casefold() not in held.casefold() for word, held in words):
            return False
        if self.warmest_c is None and self.coldest_c is None:
            return True
        if job.shop_c is None:
            return False
        low = -300.0 if self.coldest_c is None else self.coldest_c
        high = 1000.0 if self.warmest_c is None else self.warmest_c
        return low <= job.shop_c <= high


def filtered(jobs: Iterable[Outcome], wanted: Wanted) -> list[Outcome]:
    """Give the jobs that are wanted, newest first."""
    return sorted(
        (job for job in jobs if wanted.holds(job)),
        key=lambda job: (str(job.on or ""), job.job),
        reverse=True,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One fact of two jobs."""

    name: str
    first: str
    second: str

    @property
    def differs(self) -> bool:
        """Whether they are not the same as far as a person reads."""
        return self.first != self.second


def compared(first: Outcome, second: Outcome) -> list[Row]:
    """Lay two jobs side by side, differences first."""
    pairs = zip(facts(first), facts(second), strict=True)
    rows = [Row(name=name, first=one, second=other) for (name, one), (_, other) in pairs]
    return sorted(rows, key=lambda row: not row.differs)


def facts(job: Outcome) -> Sequence[tuple[str, str]]:
    """Give a job's facts in words; a dash where nobody knows."""
    return (
        ("part", job.part),
        ("date", str(job.on or "-")),
        ("resin", job.resin),
        ("lot", job.lot or "-"),
        ("can open, days", _number(job.days_open, 0)),
        ("form", job.form or "-"),
        ("initiator, %", _number(job.dose_percent, 2)),
        ("part as at, C", _number(job.temp_c, 1)),
        ("shop, C", _number(job.shop_c, 1)),
        ("work, min", _number(job.work_min, 0)),
        ("gel, min", gel_words(job)),
        ("drop test", job.drop_test or "-"),
        ("alarms", ", ".join(one.replace("_", " ") for one in job.alarms) or "none"),
        ("resin in part", _number(job.resin_fraction, 2)),
    )


def gel_words(job: Outcome) -> str:
    """Say when it gelled, or until when it had not.

    >>> gel_words(Outcome(job="a", resin="polyester", not_by_min=90.0))
    'not by 90'
    """
    if job.gel_min is not None:
        return f"{job.gel_min:.0f}"
    return "-" if job.not_by_min is None else f"not by {job.not_by_min:.0f}"


def _number(value: float | None, digits: int) -> str:
    return "-" if value is None else f"{value:.{digits}f}"
