"""The bag's outlook in one line: how long it lasts without a pump, and how deep is wise. Pure.

A depth is given in the unit of the person's drop rule: inHg count below the room, the rest from
empty space.
"""

from __future__ import annotations

from dashboard.shown import Line, Span, Tone, line, spread
from dashboard.words import span
from firmware_host.model.snapshot import BagView, Snapshot
from hardware.units import depth_words, unit_named_in

HOURS_S = 5400.0
KICK_WORDS = {
    "before": ", kick later",
    "after": ", past the kick",
    "unsure": ", kick unsure",
    "kicked": ", has kicked",
}
WHY_WORDS = {
    "styrene": "styrene",
    "water": "damp",
    "solvent": "acetone",
    "form": "form",
    "gauge": "gauge",
    "pump": "pump",
}


def bag_line(snapshot: Snapshot, cells: int) -> Line:
    """Say how long the vacuum lasts and how deep is wise."""
    bag = snapshot.view.bag
    if bag is None:
        return line(" unpumped    not known", Tone.QUIET)
    left, right = _lasts(bag), _depth(bag, snapshot.view.drop_rule)
    return spread(left, right, cells)


def _lasts(bag: BagView) -> Line:
    if bag.below_limit_s is not None:
        return line(f" pumped      below the limit in {span(bag.below_limit_s)}")
    soonest_s, latest_s = bag.limit_soonest_s, bag.limit_latest_s
    if soonest_s is None:
        known = bag.leak_pa_per_s is not None
        return line(f" unpumped    {'the limit is not in sight' if known else 'no leak known yet'}")
    tone = Tone.NOTICE if bag.limit_against_kick == "before" else Tone.PLAIN
    kick = KICK_WORDS.get(bag.limit_against_kick or "", "")
    sign = "~ " if tone is Tone.NOTICE else ""
    return (Span(" unpumped    "), Span(f"{sign}{_between(soonest_s, latest_s)}{kick}", tone))


def _between(soonest_s: float, latest_s: float | None) -> str:
    if latest_s is None:
        return f"{span(soonest_s)} or more"
    if span(soonest_s) == span(latest_s):
        return f"about {span(soonest_s)}"
    if latest_s < HOURS_S and soonest_s >= 60.0:
        return f"{soonest_s / 60.0:.0f} to {latest_s / 60.0:.0f} min"
    return f"{span(soonest_s)} to {span(latest_s)}"


def _depth(bag: BagView, rule: str) -> Line:
    if bag.deepest_wise_pa is None or bag.deepest_why is None or bag.deepest_wise_pa <= 0.0:
        return ()
    words = depth_words(bag.deepest_wise_pa, bag.station_pa, unit_named_in(rule))
    why = WHY_WORDS.get(bag.deepest_why, bag.deepest_why)
    too_deep = bag.depth_margin_pa is not None and bag.depth_margin_pa < 0.0
    if too_deep and bag.deepest_why != "pump":
        return line(f"~ too deep, {words}: {why} ", Tone.NOTICE)
    return line(f"wise to {words}: {why} ", Tone.QUIET)
