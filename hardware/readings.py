"""What a raw word turns into: a value in SI, or none and the fault that took it away."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Fault(StrEnum):
    """Why a word holds no reading, in the words that are shown."""

    NOT_READ = "not read"
    """The board did not read the chip, or sends no such raw."""
    DRIVER = "driver error"
    """The board's driver reported an error of its own."""
    OPEN = "open"
    """The chip's fault bit, or a signal at the end of the supply: a broken lead."""
    SHORT = "short"
    """A lead touches ground or supply."""
    OUT_OF_RANGE = "out of range"
    """Beyond what the sensor or the converter can mean."""
    DEAD_BUS = "dead bus"
    """All bits alike: nobody answers on the chip's line."""
    UNREADABLE = "unreadable"
    """Not a word of the channel's kind."""


@dataclass(frozen=True, slots=True)
class Reading:
    """Exactly one of the two is given."""

    value: float | None
    """Pa absolute or K."""
    fault: Fault | None = None


FAULTY = {fault: Reading(None, fault) for fault in Fault}
"""The reading that each fault leaves."""
