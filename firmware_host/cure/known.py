"""What goes into the bank of batches and what comes out of it: plain values, nothing else.

Pure.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Temperatures:
    """What is known of the bench over one block, in K, zeroed against each other."""

    time_s: float
    laminate_k: float
    """Mean of the believed couples, or the best stand-in for it."""
    stand_in_sd_k: float
    """0 where the laminate itself was measured."""
    mould_k: float | None
    shop_k: float
    """The room, or the best stand-in for it."""
    cup_k: float | None
    heated: bool
    """A lamp or blanket is on: a rise is then no exotherm."""
    shop_sd_k: float = 0.0
    """0 where the room itself was measured."""
    zero_sd_k: float = 0.0
    """Of the laminate's couple; 0 where it is known."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Outlook:
    """What the bank says at one moment; times on the job's time line."""

    gel_past: float
    """Chance that the laminate has gelled."""
    gel_s: tuple[float, float, float]
    """2.5 %, the nearest in proportion and 97.5 % of the gel, past or to come at the present
    temperature."""
    gel_early_s: float
    """10 % of it: the one-sided 90 % earliest gel."""
    conversion: tuple[float, float, float]
    """2.5 %, mean, 97.5 %."""
    clock_past: float
    """Share of all batches that the job file may mean that would have gelled by now."""
    died: float
    """Chance that the reaction has stopped well short of the end, as far as the part's own heat
    proves it: a lamp and a death at once prove nothing."""


@dataclass(frozen=True, slots=True)
class Crossed:
    """How far the laminate had come at one moment of a span without readings."""

    time_s: float
    conversion: tuple[float, float, float]
    """2.5 %, mean, 97.5 %, by what is known now."""
