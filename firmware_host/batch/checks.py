"""What must hold before a cup is mixed: temperatures, dose, ratio, lots, room pressure.

Pure. The defaults stand beside their sources; the maker's sheet, where given, replaces them.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from firmware_host.batch.reasons import Reason, Weight
from firmware_host.config.plan_tables import CupTest, Form, Lot, Sheet
from firmware_host.physics.atmosphere import standard_pressure_pa

COLD_C = 15.0
"""Makers' sheets and a magazine, 15 to 15.6; a sailing club, 13. Ours: 15, on the coldest."""
COOL_C = 18.0
"""A ship classification society's rule for the shop."""
LEAST_PERCENT, MOST_PERCENT = 1.0, 2.5
"""Trade magazine 2017 for ketone peroxide solutions; best 1.25 to 2."""
NEVER_ABOVE_PERCENT = 3.0
RATIO_TOLERANCE = 0.03
FRESH_CUP_DAYS = 30
"""A cup this young speaks for a can past its date."""
PRESSURE_TOLERANCE = 0.045
"""Weather moves a barometer by this much about the standard atmosphere of its altitude."""
HIGHEST_PRESSURE_HPA = 1060.0
TEXTBOOK_HPA = 1013.25
"""Copied from a table, not read from a barometer."""
LARGEST_CUP_G = 500.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Measured:
    """[conditions], all of them."""

    shop_c: float
    resin_c: float
    form_c: float
    station_pressure_hpa: float
    altitude_m: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class DoseLimits:
    """Between which doses nothing need be explained, and what is never allowed."""

    lowest: float
    highest: float
    never_above: float
    whose: str


def dose_limits(sheet: Sheet | None) -> DoseLimits:
    """Give the maker's range where the sheet prints one, else the trade's."""
    low = sheet.lowest_percent if sheet is not None else None
    high = sheet.highest_percent if sheet is not None else None
    return DoseLimits(
        lowest=LEAST_PERCENT if low is None else low,
        highest=MOST_PERCENT if high is None else high,
        never_above=NEVER_ABOVE_PERCENT if high is None else high,
        whose="the trade's range" if low is None and high is None else "the maker's sheet",
    )


def cold_limit_c(sheet: Sheet | None) -> float:
    """Below this nothing is mixed without a typed reason."""
    return COLD_C if sheet is None or sheet.coldest_c is None else sheet.coldest_c


def temperature_reasons(measured: Measured, sheet: Sheet | None) -> list[Reason]:
    """Judge air, resin and form on their own: the coldest rules."""
    floor_c = cold_limit_c(sheet)
    found = []
    for name, what, temp_c, mend in (
        ("shop", "the shop's air", measured.shop_c, "Warm the room and wait until all is warm."),
        ("resin", "the resin", measured.resin_c, "Stand the can in a warm room overnight."),
        ("form", "the form", measured.form_c, "Warm the form through, with the room."),
    ):
        if temp_c < floor_c:
            text = f"{what} is {temp_c:g} C, below {floor_c:g}. {mend}"
            found.append(Reason(name=f"{name}_cold", text=text))
        elif temp_c < COOL_C:
            text = f"{what} is {temp_c:g} C, below {COOL_C:g}: slow, and slow to harden."
            found.append(Reason(name=f"{name}_cool", text=text, weight=Weight.NOTICE))
    return found


def dose_reasons(percent: float, sheet: Sheet | None) -> list[Reason]:
    """Judge a dose against the range."""
    limits = dose_limits(sheet)
    said = f"{percent:.2f} % initiator"
    if percent > limits.never_above:
        text = (
            f"{said} is above {limits.never_above:g} %, the most that is ever mixed by "
            f"{limits.whose}: more makes the part hard yet badly cured. Warm the shop instead."
        )
        return [Reason(name="dose_high", text=text, weight=Weight.FORBIDS)]
    if percent > limits.highest:
        text = f"{said} is above {limits.highest:g} % ({limits.whose}). Dose less, warm the shop."
        return [Reason(name="dose_high", text=text)]
    if percent < limits.lowest:
        text = (
            f"{said} is below {limits.lowest:g} % ({limits.whose}): it may never cure through. "
            "Dose more and work cooler, or split the batch."
        )
        return [Reason(name="dose_low", text=text)]
    return []


def ratio_reasons(parts: float | None, sheet: Sheet | None) -> list[Reason]:
    """Judge the hardener of a two-part epoxy: the ratio is no knob."""
    if parts is None:
        text = "the hardener's ratio is not given. Copy hardener_parts_per_100 from the sheet."
        return [Reason(name="ratio_unknown", text=text, weight=Weight.FORBIDS)]
    printed = sheet.hardener_parts_per_100 if sheet is not None else None
    if printed is None or abs(parts - printed) <= RATIO_TOLERANCE * printed * (1.0 + 1e-9):
        return []
    text = (
        f"{parts:g} parts of hardener are {abs(parts / printed - 1.0):.0%} off the sheet's "
        f"{printed:g}; 3 % is the most. Weigh by the sheet."
    )
    return [Reason(name="ratio_off", text=text, weight=Weight.FORBIDS)]


def lot_reasons(
    lots: Sequence[Lot], cups: Sequence[CupTest], today: date, *, is_epoxy: bool
) -> list[Reason]:
    """Judge dates: a fresh cup overrules a date, a date never overrules a cup."""
    cup = max((cup.on for cup in cups if cup.on is not None), default=None)
    fresh = cup is not None and 0 <= (today - cup).days <= FRESH_CUP_DAYS
    tested = ("resin", "hardener") if is_epoxy else ("resin", "initiator")
    found = []
    for lot in lots:
        if lot.expires is None or lot.expires >= today:
            continue
        said = f"{lot.what} lot {lot.lot} expired on {lot.expires}"
        if fresh and any(one in lot.what.casefold() for one in tested):
            text = f"{said}; the cup of {cup} overrules the date."
            found.append(Reason(name="lot_old", text=text, weight=Weight.NOTICE))
        else:
            text = f"{said}. Do a cup test and date it, or open another."
            found.append(Reason(name="lot_expired", text=text))
    return found


def pressure_reasons(measured: Measured) -> list[Reason]:
    """Find out a sea-level figure, or one that no bench sees."""
    hpa = measured.station_pressure_hpa
    if measured.altitude_m is not None:
        normal = standard_pressure_pa(measured.altitude_m) / 100.0
        if abs(hpa / normal - 1.0) > PRESSURE_TOLERANCE:
            text = (
                f"{hpa:g} hPa at {measured.altitude_m:g} m is not likely; about {normal:.0f} is. "
                "Read the barometer at the bench, not reduced to sea level."
            )
            return [Reason(name="station_pressure_doubtful", text=text, weight=Weight.NOTICE)]
    elif hpa > HIGHEST_PRESSURE_HPA or hpa == TEXTBOOK_HPA:
        why = "higher than weather makes it" if hpa > TEXTBOOK_HPA else "the textbook's, not yours"
        text = f"{hpa:g} hPa is {why}. Read the barometer at the bench."
        return [Reason(name="station_pressure_doubtful", text=text, weight=Weight.NOTICE)]
    return []


def vacuum_reasons(deepest_kpa: float, form: Form | None) -> list[Reason]:
    """Say when the pump can go deeper than the form bears."""
    bears = form.bears_kpa if form is not None else None
    if bears is None or deepest_kpa <= bears:
        return []
    text = f"the pump reaches {deepest_kpa:.1f} kPa, the form bears {bears:g}. Throttle it there."
    return [Reason(name="too_deep", text=text, weight=Weight.NOTICE)]


def cup_reasons(mixed_g: float) -> list[Reason]:
    """Say when a cup is so large that its left-over is dangerous."""
    if mixed_g <= LARGEST_CUP_G:
        return []
    text = f"{mixed_g:.0f} g in one cup heats itself. Mix it in two, and spread what is left thin."
    return [Reason(name="cup_large", text=text, weight=Weight.NOTICE)]
