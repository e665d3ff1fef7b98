"""What a campaign found: figures with their bounds, and the table they came from."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Count:
    """One figure and the side on which it must lie; without a bound it is only told."""

    what: str
    value: float
    at_most: float | None = None
    at_least: float | None = None

    @property
    def is_met(self) -> bool:
        """Whether it lies on its side."""
        if self.at_most is not None and not self.value <= self.at_most:
            return False
        return self.at_least is None or self.value >= self.at_least

    def __str__(self) -> str:
        bound = "no bound"
        if self.at_most is not None:
            bound = f"at most {self.at_most:g}"
        elif self.at_least is not None:
            bound = f"at least {self.at_least:g}"
        verdict = "" if bound == "no bound" else ": pass" if self.is_met else ": FAIL"
        return f"{self.what:<58} {_shown(self.value):>14}  {bound}{verdict}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Counted:
    """A campaign's result."""

    name: str
    counts: tuple[Count, ...]
    lines: tuple[str, ...] = ()
    """The table behind the figures."""

    @property
    def is_met(self) -> bool:
        """Whether every figure lies on its side."""
        return all(count.is_met for count in self.counts)

    def holds(self, slack: float) -> bool:  # noqa: ARG002 - a count is no speed, and gets none
        """Whether it holds in a short run."""
        return self.is_met

    def table(self) -> str:
        """Lay the figures out for a person."""
        head: Sequence[str] = [str(count) for count in self.counts]
        return "\n".join([*head, "", *self.lines] if self.lines else head)


def _shown(value: float) -> str:
    return f"{value:,.0f}" if value == int(value) else f"{value:.4g}"
