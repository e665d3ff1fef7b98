"""The fault language: what can go wrong with a channel, as data.

Any channel can take any fault at any time for any span. `amount` means what its kind says; where
it is absent the kind's default for the quantity holds.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from firmware_host.model.channels import Quantity

LINE = "line"
"""The name under which the serial line itself takes faults, like a channel."""


class FaultKind(StrEnum):
    """What is wrong with a channel; `MEANINGS` says what each does."""

    OFF = "off"
    STUCK = "stuck"
    GARBAGE = "garbage"
    WRONG = "wrong"
    SLOW = "slow"
    DELAYED = "delayed"
    INTERMITTENT = "intermittent"
    NOISY = "noisy"
    DRIFTING = "drifting"
    DETACHED = "detached"
    SWAPPED = "swapped"
    REVERSED = "reversed"
    OPEN = "open"
    SHORTED = "shorted"
    BRIDGED = "bridged"


MEANINGS: dict[FaultKind, str] = {
    FaultKind.OFF: "The board does not read it.",
    FaultKind.STUCK: "It repeats the last reading from before the fault.",
    FaultKind.GARBAGE: "Anything inside its range.",
    FaultKind.WRONG: "Off by `amount` (Pa, K).",
    FaultKind.SLOW: "A further first-order lag of `amount` seconds.",
    FaultKind.DELAYED: "A dead time: what was true `amount` seconds ago.",
    FaultKind.INTERMITTENT: "The share `amount` of its readings is not there.",
    FaultKind.NOISY: "More white noise, `amount` standard deviation (Pa, K).",
    FaultKind.DRIFTING: "Walks off by `amount` per hour (Pa, K).",
    FaultKind.DETACHED: "A couple that fell off reads the shop, a gauge off its hose the room.",
    FaultKind.SWAPPED: "Trades places with the channel `other`, of the same quantity.",
    FaultKind.REVERSED: "Leads or ports the wrong way round: a couple is mirrored at its own chip, "
    "a gauge at room pressure.",
    FaultKind.OPEN: "A broken lead: a couple's chip says so, a gauge's input falls to 0 V.",
    FaultKind.SHORTED: "A lead on ground or supply: a couple's chip says so, a gauge's input rises "
    "to the supply.",
    FaultKind.BRIDGED: "A couple's leads touch before its bead: it reads its own chip.",
}
LINE_MEANINGS: dict[FaultKind, str] = {
    FaultKind.OFF: "Nothing gets through.",
    FaultKind.GARBAGE: "Random bytes in place of each line, as many.",
    FaultKind.DELAYED: "Each line comes `amount` seconds late.",
    FaultKind.INTERMITTENT: "The share `amount` of its lines is lost.",
    FaultKind.NOISY: "The share `amount` of its bits is flipped.",
}
"""What the serial line can have."""

DEFAULT_AMOUNTS: dict[FaultKind, dict[Quantity, float]] = {
    FaultKind.WRONG: {Quantity.PRESSURE: 3000.0, Quantity.TEMPERATURE: 8.0},
    FaultKind.SLOW: {Quantity.PRESSURE: 120.0, Quantity.TEMPERATURE: 300.0},
    FaultKind.DELAYED: {Quantity.PRESSURE: 60.0, Quantity.TEMPERATURE: 60.0},
    FaultKind.INTERMITTENT: {Quantity.PRESSURE: 0.5, Quantity.TEMPERATURE: 0.5},
    FaultKind.NOISY: {Quantity.PRESSURE: 400.0, Quantity.TEMPERATURE: 3.0},
    FaultKind.DRIFTING: {Quantity.PRESSURE: 3000.0, Quantity.TEMPERATURE: 12.0},
}
"""Kinds that take an amount, with what holds when none is given."""
LINE_AMOUNTS: dict[FaultKind, float] = {
    FaultKind.DELAYED: 2.0,
    FaultKind.INTERMITTENT: 0.5,
    FaultKind.NOISY: 0.001,
}
"""The same for the line."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Fault:
    """One thing wrong with one channel, from `start_s` until `end_s` (None: for good)."""

    channel: str
    """A channel's name, or LINE."""
    kind: FaultKind
    start_s: float
    end_s: float | None = None
    amount: float | None = None
    other: str | None = None
    """The partner of a swap."""

    def holds(self, time_s: float) -> bool:
        """Whether it is there at this time."""
        return self.start_s <= time_s and (self.end_s is None or time_s < self.end_s)

    @property
    def line_amount(self) -> float:
        """Size of a fault of the line."""
        return self.amount if self.amount is not None else LINE_AMOUNTS[self.kind]

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
