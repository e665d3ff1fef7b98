"""What is ahead of the bag, as it goes over the broker beside the state. Pure."""

from __future__ import annotations

from dataclasses import dataclass

from firmware_host.model.snapshot import BagView


@dataclass(frozen=True, slots=True, kw_only=True)
class OutlookMessage:
    """How long the vacuum lasts and how deep is wise; a number that is not known is None."""

    limit_s_left_low: float | None
    limit_s_left_high: float | None
    """With nothing pulling, 95 %; the high end is None beyond a day."""
    against_kick: str | None
    """before, after, unsure: where that lies against the kick; kicked once it is past."""
    leak_cm3_per_min: float | None
    """Room air; None while the bag's volume is not known."""
    deepest_wise_pa: float | None
    """Lowest bag pressure that neither boils something nor crushes the form."""
    deepest_why: str | None
    """What rules that: styrene, water, solvent, form, gauge or pump."""
    depth_margin_pa: float | None
    """Bag pressure above the lowest wise one; below 0 it is too deep."""
    possible_vacuum_pa: float | None
    """Below the room, as deep as this pump gets in this bag, here."""


def outlook_of(bag: BagView | None) -> OutlookMessage | None:
    """Say what is ahead; None from a core that does not tell."""
    if bag is None:
        return None
    possible_pa = None
    if bag.station_pa is not None and bag.possible_pa is not None:
        possible_pa = bag.station_pa - bag.possible_pa
    return OutlookMessage(
        limit_s_left_low=_rounded(bag.limit_soonest_s, 0),
        limit_s_left_high=_rounded(bag.limit_latest_s, 0),
        against_kick=bag.limit_against_kick,
        leak_cm3_per_min=_rounded(bag.leak_cm3_per_min, 2),
        deepest_wise_pa=_rounded(bag.deepest_wise_pa, 0),
        deepest_why=bag.deepest_why,
        depth_margin_pa=_rounded(bag.depth_margin_pa, 0),
        possible_vacuum_pa=_rounded(possible_pa, 0),
    )


def _rounded(value: float | None, digits: int) -> float | None:
    return None if value is None else round(value, digits)
