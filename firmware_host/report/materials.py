"""What went into the job: materials, limits and conditions, each stated, assumed or not given.

Pure. The short list is for the first page; the full one names every value that was taken from a
default, because an answer that rests on a default is wider than it looks.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from firmware_host.config.schema import JobDescription
from firmware_host.config.words import meaning
from firmware_host.model.channels import Role
from firmware_host.report.facts import Facts, Measured
from firmware_host.report.headlines import with_role
from firmware_host.report.words import (
    NBSP,
    celsius,
    mbar,
    mbar_in_5_min,
    number,
    percent,
    several,
    spaced,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """A name and its value."""

    name: str
    value: str
    assumed: bool = False
    """The file did not give it: a documented default stands in."""
    meaning: str = ""


def materials(job: JobDescription) -> tuple[Line, ...]:
    """Give the short list for the first page."""
    lines = [_resin(job), *_dose(job), *_cloth(job), _laminate(job), _bag(job), _limits(job)]
    lines += [_named("Form", job.form.name)] if job.form and job.form.name else []
    return tuple(lines)


def _resin(job: JobDescription) -> Line:
    names = [lot.lot for lot in job.lots if "resin" in lot.what.casefold()]
    lot = f", lot {names[0]}" if names else ""
    sheet = f", sheet {job.sheet.name}" if job.sheet and job.sheet.name else ""
    return Line(name="Resin", value=f"{job.resin.family.value}{lot}{sheet}")


def _dose(job: JobDescription) -> list[Line]:
    if job.resin.hardener_parts_per_100 is not None:
        parts = number(job.resin.hardener_parts_per_100)
        assumed = "resin.hardener_parts_per_100" in job.assumed
        return [Line(name="Hardener", value=f"{parts} per 100 of resin", assumed=assumed)]
    if not job.resin.has_initiator:
        return []
    name = f", {job.initiator.name}" if job.initiator.name else ""
    return [
        Line(
            name="Initiator",
            value=f"{number(job.job.initiator_percent)}{NBSP}%{name}",
            assumed="job.initiator_percent" in job.assumed,
        )
    ]


def _cloth(job: JobDescription) -> list[Line]:
    plies = [
        f"{ply.count} \u00d7 {number(ply.areal_weight_g_per_m2)}{NBSP}g/m\u00b2"
        for ply in job.plies
    ]
    return [Line(name="Cloth", value=", ".join(plies))] if plies else []


def _laminate(job: JobDescription) -> Line:
    laminate = job.laminate
    assumed = {"laminate.thickness_mm", "laminate.area_m2", "laminate.resin_mass_fraction"}
    return Line(
        name="Laminate",
        value=f"{number(laminate.thickness_mm)}{NBSP}mm, {number(laminate.area_m2)}{NBSP}m\u00b2, "
        f"{percent(laminate.resin_mass_fraction)} resin",
        assumed=bool(assumed & set(job.assumed)),
    )


def _bag(job: JobDescription) -> Line:
    volume = job.bag.free_volume_l
    known = f"{number(volume)}{NBSP}l" if volume is not None else "volume not given"
    return Line(
        name="Bag",
        value=f"rule {rule_words(job)}, {known}",
        assumed="bag.drop_limit_pa_per_s" in job.assumed,
    )


def rule_words(job: JobDescription) -> str:
    """Say the drop rule as people time it, and in the person's own words where they gave any."""
    timed = mbar_in_5_min(job.bag.drop_limit_pa_per_s)
    own = job.bag.drop_rule
    return timed if own.endswith("Pa/s") else f"{own} ({timed})"


def _limits(job: JobDescription) -> Line:
    latest = job.limits.latest_gel_min
    gel = f"gel by {number(latest)}{NBSP}min" if latest is not None else "gel by 1.5 \u00d7 plan"
    return Line(
        name="Limits",
        value=f"{number(job.bag.pressure_limit_mbar)}{NBSP}mbar, "
        f"{number(job.limits.highest_temperature_c)}{NBSP}\u00b0C, {gel}",
        assumed=bool(
            {"bag.pressure_limit_mbar", "limits.highest_temperature_c"} & set(job.assumed)
        ),
    )


def _named(what: str, name: str) -> Line:
    return Line(name=what, value=name)


def conditions(facts: Facts, measured: Mapping[str, Measured]) -> tuple[Line, ...]:
    """Give what was measured by hand before the pour, and by channels at it."""
    stated = facts.job.conditions
    by_hand = [
        f"{name} {number(temp_c)}{NBSP}\u00b0C"
        for name, temp_c in (
            ("shop", stated.shop_c),
            ("resin", stated.resin_c),
            ("form", stated.form_c),
        )
        if temp_c is not None
    ]
    if stated.station_pressure_hpa is not None:
        by_hand.append(f"room {number(stated.station_pressure_hpa)}{NBSP}hPa")
    at_pour = [
        f"{name} {_spelt(role, first.value)}"
        for role in (Role.SHOP, Role.MOULD, Role.BAROMETER)
        for name in with_role(facts, role)
        if (first := measured[name].tally.first) is not None
    ]
    return (
        Line(name="By hand", value=", ".join(by_hand) or "nothing was stated"),
        Line(name="At the pour", value=", ".join(at_pour) or "nothing was measured"),
    )


def _spelt(role: Role, value: float) -> str:
    return mbar(value) if role is Role.BAROMETER else celsius(value)


def every_value(job: JobDescription) -> tuple[tuple[str, tuple[Line, ...]], ...]:
    """Give every value that steered the watch, table by table, with what was assumed marked."""
    tables = {"job": job.job, "resin": job.resin, "laminate": job.laminate, "bag": job.bag}
    given: dict[str, Any] = tables | ({"cup": job.cup} if job.cup else {}) | {"limits": job.limits}
    return tuple(
        (
            name,
            tuple(
                _line(name, one.name, getattr(held, one.name), job)
                for one in dataclasses.fields(held)
                if f"{name}.{one.name}" in job.assumed or getattr(held, one.name) is not None
            ),
        )
        for name, held in given.items()
    )


def _line(table: str, key: str, value: object, job: JobDescription) -> Line:
    return Line(
        name=key,
        value=_value(value),
        assumed=f"{table}.{key}" in job.assumed,
        meaning=meaning(table, key),
    )


def _value(value: object) -> str:
    if value is None:
        return "not given"
    if isinstance(value, tuple):
        return " to ".join(_value(one) for one in value)
    if isinstance(value, int | float):
        return number(value)
    return str(value)


def people_and_lots(job: JobDescription) -> tuple[Line, ...]:
    """Give who did what, which cans were used, and what was set aside before the pour."""
    lines = [Line(name=lot.what, value=_lot(lot.lot, lot.opened, lot.expires)) for lot in job.lots]
    lines += [_named("Pump", job.pump.name)] if job.pump.name else []
    lines += [Line(name=one.who, value=one.did or "took part") for one in job.people]
    lines += [
        Line(
            name=f"Set aside: {spaced(one.name)}",
            value=one.reason + (f" ({one.by})" if one.by else ""),
        )
        for one in job.overrides
    ]
    if job.dropper is not None and job.dropper.weighed_g is not None:
        drops = several(job.dropper.drops_weighed or 0, "drop")
        value = f"{drops} weighed {number(job.dropper.weighed_g)}{NBSP}g"
        lines.append(Line(name=f"Dropper {job.dropper.name}", value=value))
    lines += [
        Line(
            name="Cup test",
            value=f"gel {number(cup.gel_min)}{NBSP}min at "
            f"{number(cup.at_c)}{NBSP}\u00b0C" + (f" on {cup.on.isoformat()}" if cup.on else ""),
        )
        for cup in job.cup_tests
    ]
    return tuple(lines)


def _lot(lot: str, opened: date | None, expires: date | None) -> str:
    parts = [f"lot {lot}"]
    parts += [f"opened {opened.isoformat()}"] if opened else []
    parts += [f"expires {expires.isoformat()}"] if expires else []
    return ", ".join(parts)
