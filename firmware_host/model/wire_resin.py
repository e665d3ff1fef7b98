"""What the broker is told of the resin besides its word: the window, the reason, what comes.

Pure. Seconds left are 5, 50 and 95 % or the ends of a 95 % window: never one number to count down.
"""

from __future__ import annotations

from dataclasses import dataclass

from firmware_host.model.events import CaseAhead, Range
from firmware_host.model.snapshot import CureView, View
from hardware.units import ZERO_CELSIUS_K

Window = tuple[float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class ResinMessage:
    """The resin; a number that is not known is None."""

    why: tuple[str, ...]
    """What `cure_state` rests on, or what is still missing."""
    kicked_late: bool
    inhibitor_burnt: float | None
    """Share, likely; None once the kick was seen, and for a resin without."""
    gel_window_s_left: Window | None
    """95 %; None once the gel is past."""
    conversion_window: Window | None
    """95 %; only after gel."""
    hottest_c: float | None
    """95 % high of laminate or mould from now on."""
    warm_to_c: float | None
    """How warm laminate and air may be made; None where warming is not wise or of no use."""
    warmed_min_sooner: float | None
    """By how much the gel is likely sooner then."""
    rest_s_left: Range
    """Until vacuum may come off; None beyond some hours, and where it may."""
    pull_s_left: Range
    """Until the part may be pulled."""
    governs: str | None
    """The couple at the coldest place of the laminate."""


def resin_of(view: View) -> ResinMessage | None:
    """Say what is known of the resin; None before it is mixed."""
    cure = view.cure
    if cure is None:
        return None
    ahead = cure.ahead
    cases = ahead.cases if ahead is not None else ()
    warm_k = ahead.warm_to_k if ahead is not None else None
    return ResinMessage(
        why=cure.why,
        kicked_late=cure.late,
        inhibitor_burnt=None if cure.inhibitor is None else round(cure.inhibitor[1], 3),
        gel_window_s_left=_gel_window(cure, view.time_s),
        conversion_window=_conversion_window(cure),
        hottest_c=round(cases[0].hottest_k[2] - ZERO_CELSIUS_K, 1) if cases else None,
        warm_to_c=None if warm_k is None else round(warm_k - ZERO_CELSIUS_K, 1),
        warmed_min_sooner=_sooner_min(cases),
        rest_s_left=_left(cases[0].rest_s if cases else (None, None, None), view.time_s),
        pull_s_left=_left(cases[0].pull_s if cases else (None, None, None), view.time_s),
        governs=ahead.governs if ahead is not None else None,
    )


def _gel_window(cure: CureView, now_s: float) -> Window | None:
    if cure.conversion is not None or cure.gel_low_s is None or cure.gel_high_s is None:
        return None
    return round(max(cure.gel_low_s - now_s, 0.0), 1), round(max(cure.gel_high_s - now_s, 0.0), 1)


def _conversion_window(cure: CureView) -> Window | None:
    if cure.conversion_low is None or cure.conversion_high is None:
        return None
    return round(cure.conversion_low, 4), round(cure.conversion_high, 4)


def _left(times: Range, now_s: float) -> Range:
    low, likely, high = (None if s is None else round(max(s - now_s, 0.0), 1) for s in times)
    return low, likely, high


def _sooner_min(cases: tuple[CaseAhead, ...]) -> float | None:
    if len(cases) < 2:
        return None
    now_s, warm_s = cases[0].gel_s[1], cases[1].gel_s[1]
    return None if now_s is None or warm_s is None else round(max(now_s - warm_s, 0.0) / 60.0, 1)
