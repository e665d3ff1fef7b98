"""The fault language: what can go wrong with a channel, as data.

Any channel can take any fault at any time for any span. `amount` means what its kind says; where
it is absent the kind's default for the quantity holds.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from firmware_host.model.channels import Quantity


class FaultKind(StrEnum):
    """What is wrong with a channel."""

    OFF = "off"
    """The board does not read it."""
    STUCK = "stuck"
    """It repeats the last reading from before the fault."""
    GARBAGE = "garbage"
    """Anything inside its range."""
    WRONG = "wrong"
    """Off by `amount` (Pa, K)."""
    SLOW = "slow"
    """A further lag of `amount` seconds."""
    DELAYED = "delayed"
    """What was true `amount` seconds ago."""
    INTERMITTENT = "intermittent"
    """The share `amount` of its readings is not there."""
    NOISY = "noisy"
    """More white noise, `amount` standard deviation (Pa, K)."""
    DRIFTING = "drifting"
    """Walks off by `amount` per hour (Pa, K)."""
    DETACHED = "detached"
    """A couple that fell off reads the shop, a gauge that came off its hose reads the room."""
    SWAPPED = "swapped"
    """Trades places with the channel `other`."""
    REVERSED = "reversed"
    """Leads the wrong way round: mirrored at the shop, or at room pressure."""
    OPEN = "open"
    """A broken lead: a couple's chip says so, a gauge's input falls to 0 V."""
    SHORTED = "shorted"
    """A lead on ground or supply: a couple's chip says so, a gauge's input rises to the supply."""


DEFAULT_AMOUNTS: dict[FaultKind, dict[Quantity, float]] = {
    FaultKind.WRONG: {Quantity.PRESSURE: 3000.0, Quantity.TEMPERATURE: 8.0},
    FaultKind.SLOW: {Quantity.PRESSURE: 120.0, Quantity.TEMPERATURE: 300.0},
    FaultKind.DELAYED: {Quantity.PRESSURE: 60.0, Quantity.TEMPERATURE: 60.0},
    FaultKind.INTERMITTENT: {Quantity.PRESSURE: 0.5, Quantity.TEMPERATURE: 0.5},
    FaultKind.NOISY: {Quantity.PRESSURE: 400.0, Quantity.TEMPERATURE: 3.0},
    FaultKind.DRIFTING: {Quantity.PRESSURE: 3000.0, Quantity.TEMPERATURE: 12.0},
}
"""Kinds that take an amount, with what holds when none is given."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Fault:
    """One thing wrong with one channel, from `start_s` until `end_s` (None: for good)."""

    channel: str
    kind: FaultKind
    start_s: float
    end_s: float | None = None
    amount: float | None = None
    other: str | None = None
    """The partner of a swap."""

    def holds(self, time_s: float) -> bool:
        """Whether it is there at this time."""
        return self.start_s <= time_s and (self.end_s is None or time_s < self.end_s)

    def amount_for(self, quantity: Quantity) -> float:
        """Size of the fault in the unit of its kind."""
        if self.amount is not None:
            return self.amount
        return DEFAULT_AMOUNTS[self.kind][quantity]


def with_partners(faults: tuple[Fault, ...]) -> tuple[Fault, ...]:
    """Add the other half of every swap."""
    halves = tuple(
        Fault(
            channel=fault.other,
            kind=fault.kind,
            start_s=fault.start_s,
            end_s=fault.end_s,
            other=fault.channel,
        )
        for fault in faults
        if fault.kind is FaultKind.SWAPPED and fault.other is not None
    )
    return faults + halves
