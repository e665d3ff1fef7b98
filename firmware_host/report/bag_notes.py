"""What the last drop test and the warmth of the job say of the bag beyond a verdict. Pure.

How much of the rise was settling, the leak in the units of other people, how long the vacuum would
have lasted, and how deep was wise.
"""

from __future__ import annotations

from collections.abc import Mapping

from firmware_host.model.channels import Role
from firmware_host.model.events import LeakChecked
from firmware_host.physics.atmosphere import SEA_LEVEL_PA, standard_pressure_pa
from firmware_host.physics.gas import room_air_cm3_per_min
from firmware_host.physics.holes import hole_diameter_m
from firmware_host.physics.leak_units import USUAL, mbar_l_per_s, standard_cm3_per_min
from firmware_host.report.facts import Facts, Measured
from firmware_host.report.headlines import with_role
from firmware_host.report.tally import Extreme
from firmware_host.report.words import NBSP, celsius, duration, mbar_in_5_min
from firmware_host.vacuum.ceiling import Bench, Why, deepest_wise, liquids_of
from firmware_host.vacuum.outlook import (
    USUAL_ROOM_K,
    AgainstKick,
    against_kick,
    leak_pa_m3_per_s,
    minutes_to_limit,
)
from hardware.units import depth_words, unit_named_in

PA_PER_KPA, PA_PER_HPA = 1000.0, 100.0
KICK_WORDS = {
    AgainstKick.BEFORE: ", before the kick",
    AgainstKick.AFTER: ", past the kick",
    AgainstKick.UNSURE: "; whether past the kick is not sure",
    AgainstKick.KICKED: ", with the kick over",
}
WHY_WORDS = {
    Why.STYRENE: "below that styrene makes bubbles at the laminate's hottest, {hottest}",
    Why.WATER: "below that damp makes bubbles at its warmest",
    Why.SOLVENT: "below that acetone makes bubbles",
    Why.FORM: "the form bears no more",
    Why.GAUGE: "the gauge sees no deeper",
    Why.PUMP: "the pump goes no deeper",
}


def bag_notes(facts: Facts, measured: Mapping[str, Measured]) -> tuple[str, ...]:
    """Give what there is to say; nothing where no channel watched the bag."""
    bags = with_role(facts, Role.BAG)
    if not bags:
        return ()
    lowest = measured[bags[0]].tally.lowest
    said = [_depth(facts, measured, lowest)]
    if facts.story.tests:
        test = facts.story.tests[-1]
        said = [
            settling_words(test),
            _flow(facts, measured, test),
            _lasts(facts, test, lowest),
            *said,
        ]
    return tuple(text for text in said if text)


def settles(test: LeakChecked) -> bool:
    """Tell whether the rise was surely more than air: its line lies above the leak's interval."""
    whole, high = test.whole_rise_pa_per_s, test.rise_high_pa_per_s
    return whole is not None and high is not None and whole > high


def settling_words(test: LeakChecked) -> str:
    """Say how much of the gauge's rise was not air leaking in."""
    whole, rise = test.whole_rise_pa_per_s, test.rise_pa_per_s
    if not settles(test) or whole is None or rise is None:
        return ""
    return (
        f"Test {test.number}: the gauge rose {mbar_in_5_min(whole)} in all; about "
        f"{1.0 - rise / whole:.0%} of that was settling, outgassing or warmth."
    )


def _flow(facts: Facts, measured: Mapping[str, Measured], test: LeakChecked) -> str:
    volume_l, rise = facts.job.bag.free_volume_l, test.rise_pa_per_s
    if volume_l is None or rise is None or rise <= 0.0:
        return ""
    shop = _first(facts, measured, Role.SHOP)
    room_k = shop if shop is not None else USUAL_ROOM_K
    room_pa = _room_pa(facts, measured) or SEA_LEVEL_PA
    flow = leak_pa_m3_per_s(rise, volume_l, _first(facts, measured, Role.PART), room_k)
    return (
        f"That leak is {_short(room_air_cm3_per_min(flow, room_pa))}{NBSP}cm\u00b3 of room air a "
        f"minute ({_short(standard_cm3_per_min(flow, room_k))} standard cm\u00b3 {USUAL.words}; "
        f"{_short(mbar_l_per_s(flow))}{NBSP}mbar{NBSP}l/s): as much as one pinhole of the order of "
        f"{_short(hole_diameter_m(flow, room_pa, room_k) * 1e6)}{NBSP}\u00b5m."
    )


def _lasts(facts: Facts, test: LeakChecked, lowest: Extreme | None) -> str:
    low, high = test.rise_low_pa_per_s, test.rise_high_pa_per_s
    if lowest is None or low is None or high is None:
        return ""
    limit_pa = facts.job.bag.pressure_limit_mbar * PA_PER_HPA
    ahead = minutes_to_limit(max(lowest.value, 0.0), limit_pa, low, high, SEA_LEVEL_PA)
    if ahead is None:
        return ""
    soonest, latest = ahead
    span = f"{duration(soonest * 60.0)} or more"
    if latest is not None:
        span = f"{duration(soonest * 60.0)} to {duration(latest * 60.0)}"
    return f"With the pump off it would have kept the vacuum for {span}{_kick(facts, test, ahead)}."


def _kick(facts: Facts, test: LeakChecked, ahead: tuple[float, float | None]) -> str:
    gel = facts.story.gel
    if gel is None:
        return ""
    if test.end_s > gel.high_s:
        return KICK_WORDS[AgainstKick.KICKED]
    latest_s = None if ahead[1] is None else test.end_s + ahead[1] * 60.0
    return KICK_WORDS[against_kick(test.end_s + ahead[0] * 60.0, latest_s, gel.low_s, gel.high_s)]


def _depth(facts: Facts, measured: Mapping[str, Measured], lowest: Extreme | None) -> str:
    """Hold the deepest vacuum against what was wise at the warmest; they need not have met."""
    job = facts.job
    hottest_k = _highest(facts, measured, Role.PART)
    form = job.form.bears_kpa if job.form is not None else None
    room_pa = _room_pa(facts, measured)
    bench = Bench(
        room_pa=room_pa,
        form_bears_pa=None if form is None else form * PA_PER_KPA,
        gauge_lowest_pa=next(
            (s.channel.lowest_pa for s in facts.sensors if s.channel.role is Role.BAG), None
        ),
        pump_pa=job.pump.ultimate_mbar * PA_PER_HPA,
    )
    form_k = _highest(facts, measured, Role.MOULD)
    found = deepest_wise(liquids_of(job, laminate_k=hottest_k, form_k=form_k), bench)
    if found.deepest_pa <= 0.0:
        return ""
    unit = unit_named_in(job.bag.drop_rule)
    why = WHY_WORDS[found.why].format(hottest=celsius(hottest_k) if hottest_k else "")
    deepest = (
        "" if lowest is None else f" The deepest was {depth_words(lowest.value, room_pa, unit)}."
    )
    return f"Deepest wise vacuum: {depth_words(found.deepest_pa, room_pa, unit)}; {why}.{deepest}"


def _room_pa(facts: Facts, measured: Mapping[str, Measured]) -> float | None:
    seen_pa = _first(facts, measured, Role.BAROMETER)
    given = facts.job.conditions
    if seen_pa is not None:
        return seen_pa
    if given.station_pressure_hpa is not None:
        return given.station_pressure_hpa * PA_PER_HPA
    return None if given.altitude_m is None else standard_pressure_pa(given.altitude_m)


def _first(facts: Facts, measured: Mapping[str, Measured], role: Role) -> float | None:
    firsts = (measured[name].tally.first for name in with_role(facts, role))
    return next((first.value for first in firsts if first is not None), None)


def _highest(facts: Facts, measured: Mapping[str, Measured], role: Role) -> float | None:
    peaks = (measured[name].tally.highest for name in with_role(facts, role))
    return max((peak.value for peak in peaks if peak is not None), default=None)


def _short(value: float) -> str:
    """Spell two figures: a leak is not known better.

    >>> _short(20.05), _short(0.3386), _short(57.4)
    ('20', '0.34', '57')
    """
    return f"{value:.2g}" if value < 100.0 else f"{value:.0f}"
