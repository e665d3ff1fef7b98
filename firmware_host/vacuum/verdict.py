"""The three-way verdict of a drop test, and when it was first sure.

Pure. A verdict looks at the interval of the leak part, never at the rate alone; what the span
cannot tell is `undecided`, and is said so.
"""

from __future__ import annotations

from dataclasses import dataclass

from firmware_host.model.events import Verdict
from firmware_host.vacuum.rise import RiseEstimate

SURE = 0.99
"""Chance that a verdict needs before it is spoken."""
LIKELY = 0.9
"""A spoken verdict stands while it stays at least this likely."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Judgement:
    """Where a drop test stands."""

    verdict: Verdict = Verdict.UNDECIDED
    decided_s: float | None = None


def judge(earlier: Judgement, estimate: RiseEstimate | None, now_s: float) -> Judgement:
    """Take one more look.

    A verdict is first spoken at 99 %, stands while it keeps 90 %, and is taken back otherwise. One
    look turns no verdict into its opposite: that takes a second look which bears it out.
    """
    if estimate is None:
        return earlier
    above = estimate.chance_above_limit
    for verdict, chance in ((Verdict.LEAKING, above), (Verdict.TIGHT, 1.0 - above)):
        if earlier.verdict is verdict and chance >= LIKELY:
            return earlier
        if earlier.verdict is Verdict.UNDECIDED and chance >= SURE:
            return Judgement(verdict=verdict, decided_s=now_s)
    return Judgement()
