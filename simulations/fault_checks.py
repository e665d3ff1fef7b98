"""What cannot go wrong: faults that no bench can have, each refused with one clear sentence."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations

from firmware_host.model.channels import Quantity, channel_named
from simulations.faults import (
    DEFAULT_AMOUNTS,
    LINE,
    LINE_AMOUNTS,
    LINE_MEANINGS,
    Fault,
    FaultKind,
    with_partners,
)
from simulations.sensors import PLACES
from simulations.tables import nearest

SHARES = (FaultKind.INTERMITTENT,)
POSITIVE = (FaultKind.SLOW, FaultKind.DELAYED, FaultKind.NOISY)
LONGEST_DELAY_S = 3600.0


def problems_with(fault: Fault) -> list[str]:
    """Say why a bench cannot have this fault; empty when it can."""
    names = [fault.channel] if fault.other is None else [fault.channel, fault.other]
    known = [*PLACES, LINE]
    problems = [f"no channel {name!r}{nearest(name, known)}" for name in names if name not in known]
    if (fault.kind is FaultKind.SWAPPED) != (fault.other is not None):
        problems.append("`other` names the partner of kind 'swapped', and of it only")
    if problems:
        return problems
    if LINE in names:
        wrong = _line_problem(fault) or _amount_problem(fault, takes=fault.kind in LINE_AMOUNTS)
    else:
        takes = fault.kind in DEFAULT_AMOUNTS
        wrong = _channel_problem(fault) or _amount_problem(fault, takes=takes)
    return [] if wrong is None else [wrong]


def clashes(faults: Sequence[Fault]) -> list[str]:
    """Name every two faults of one kind that hold on one channel at one time."""
    return [
        f"{first.channel} is {first.kind} twice, at {first.start_s:g} s and at "
        f"{second.start_s:g} s. End the first before the second begins"
        for first, second in combinations(
            sorted(with_partners(tuple(faults)), key=lambda fault: fault.start_s), 2
        )
        if (first.channel, first.kind) == (second.channel, second.kind)
        and first.holds(second.start_s)
    ]


def _line_problem(fault: Fault) -> str | None:
    if fault.kind in LINE_MEANINGS:
        return None
    return f"the line cannot be {fault.kind}; it can be {', '.join(LINE_MEANINGS)}"


def _channel_problem(fault: Fault) -> str | None:
    quantity = channel_named(fault.channel).role.quantity
    if fault.kind is FaultKind.BRIDGED and quantity is Quantity.PRESSURE:
        return f"{fault.channel} is a gauge and cannot be bridged; a couple can, a gauge is shorted"
    if fault.other is None:
        return None
    if fault.other == fault.channel:
        return f"{fault.channel} cannot trade places with itself"
    other = channel_named(fault.other).role.quantity
    if other is not quantity:
        return (
            f"{fault.channel} ({quantity}) cannot trade places with {fault.other} ({other}); "
            "name one of the same quantity"
        )
    return None


def _amount_problem(fault: Fault, *, takes: bool) -> str | None:
    amount = fault.amount
    if amount is None:
        return None
    if not takes:
        return f"{fault.kind} takes no amount, and {amount:g} was given"
    is_share = fault.kind in SHARES or (fault.channel == LINE and fault.kind is FaultKind.NOISY)
    if is_share and not 0.0 <= amount <= 1.0:
        return f"{fault.kind}: amount = {amount:g} is a share and must be between 0 and 1"
    if fault.kind in POSITIVE and not 0.0 < amount < float("inf"):
        return f"{fault.kind}: amount = {amount:g} must be above 0"
    if fault.kind is FaultKind.DELAYED and amount > LONGEST_DELAY_S:
        return f"delayed: amount = {amount:g} s must be at most {LONGEST_DELAY_S:g} s"
    return None if abs(amount) < float("inf") else f"{fault.kind}: amount = {amount} is no number"
