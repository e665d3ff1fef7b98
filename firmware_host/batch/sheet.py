"""The plan as one printed sheet: 80 columns, plain letters, read from a phone's photo.

Pure: text out. Told apart by word, never by colour.
"""

from __future__ import annotations

import textwrap
from collections.abc import Iterator

from firmware_host.batch.advice import advice
from firmware_host.batch.amine import end_words, pot_words
from firmware_host.batch.cautions import cautions
from firmware_host.batch.dose import ounces
from firmware_host.batch.plan import Batch, Plan, lot_of
from firmware_host.batch.reasons import Reason, Weight
from firmware_host.batch.resin_need import resin_fraction_reached
from firmware_host.batch.time_reasons import dose_words, proposed_dose
from firmware_host.batch.what_if import what_if
from firmware_host.config.plan_tables import Dropper

WIDTH = 79
LABEL = 11
LONGEST_SHOWN_MIN = 9999.0
"""A week; a later gel is none."""
SHORT_MIN = 20.0
"""Below this a tenth of a minute is worth showing."""
KPA_PER_INHG = 3.386389


def sheet_of(plan: Plan) -> str:
    """Lay out the whole sheet."""
    rule = "-" * WIDTH
    blocks = [_head(plan), rule, *_batch(plan), rule, *_time(plan), rule, *_table(plan), rule]
    blocks += [*_reasons(plan), rule, *(_wrapped("", f"! {one}") for one in _cautions(plan))]
    return "\n".join(line for block in blocks for line in block.split("\n"))


def _head(plan: Plan) -> str:
    part = plan.job.job.part
    room = WIDTH - 12
    lines = [f"{part[:room]:<{room}}{plan.today.isoformat():>12}"]
    standing = [one.name for one in plan.reasons if one.stands]
    lines.append(
        "FIT TO MIX" if plan.fit_to_mix else _wrapped("NOT FIT", "to mix: " + _names(standing))
    )
    return "\n".join(lines)


def _names(names: list[str]) -> str:
    return ", ".join(name.replace("_", " ") for name in names)


def _batch(plan: Plan) -> Iterator[str]:
    batch = plan.batch
    need = batch.need
    lot = lot_of(plan)
    family = plan.job.resin.family.value + (f", lot {lot}" if lot else "")
    yield _wrapped("RESIN", f"{batch.resin_g:.0f} g   {family}")
    if batch.hardener_g is not None:
        parts = plan.job.resin.hardener_parts_per_100
        yield _wrapped("HARDENER", f"{batch.hardener_g:.0f} g   {parts:g} per 100 of resin")
    if batch.drops is not None:
        yield from _initiator(batch, plan.job.dropper)
    source = "" if plan.job.plies else ", from [laminate]: no plies are named"
    yield _wrapped("GLASS", f"{need.glass_g:.0f} g dry{source}")
    lost = ", ".join(f"{loss.where} {loss.grams:.0f} g" for loss in need.losses)
    yield _wrapped("", f"{need.kept_g:.0f} g of resin stays in the part; lost: {lost}")
    size = f"fibre volume {100.0 * need.fibre_volume_fraction:.0f} %"
    if need.thickness_mm is not None:
        size = f"{need.thickness_mm:.2f} mm, {size}"
    yield _wrapped("", f"mix {need.mixed_ml:.0f} ml in all; laminate {size}")
    if plan.job.weighed is not None:
        weighed = plan.job.weighed
        reached = resin_fraction_reached(weighed.dry_g, weighed.part_g)
        text = f"{weighed.dry_g:g} g dry, part {weighed.part_g:g} g: {reached:.2f} of it is resin"
        yield _wrapped("WEIGHED", text)


def _initiator(batch: Batch, dropper: Dropper | None) -> Iterator[str]:
    drops = batch.drops
    assert drops is not None, "only asked for a resin with initiator"
    amount = f"{batch.initiator_g:.2f} g = {batch.initiator_ml:.2f} ml"
    yield _wrapped("INITIATOR", f"{amount}   {batch.initiator_percent:.2f} % of the resin")
    if drops.count is None or dropper is None:
        text = f"{drops.low:.0f} to {drops.high:.0f} drops: weigh 20 drops to know, or weigh it"
    else:
        on = f" on {dropper.weighed_on}" if dropper.weighed_on else ""
        text = (
            f"{drops.count} drops ({drops.low:.0f} to {drops.high:.0f}) of {dropper.name}, "
            f"{dropper.drops_weighed} weighed {dropper.weighed_g:g} g{on}"
        )
    yield _wrapped("", text)
    if dropper is not None and dropper.drops_per_ounce is not None and dropper.ounce is not None:
        size = ounces(batch.resin_g, dropper.ounce)
        by_rule = dropper.drops_per_ounce * size
        text = (
            f"your rule: {dropper.drops_per_ounce:g} drops per {dropper.ounce.value} ounce on "
            f"{size:.2f} ounces = {by_rule:.0f} drops (common practice, no source)"
        )
        yield _wrapped("", text)


def _time(plan: Plan) -> Iterator[str]:
    window, measured = plan.window, plan.measured
    yield _wrapped(
        "GEL",
        f"{_minutes(window.gel_min)} min after mixing ({_minutes(window.low_min)} to "
        f"{_minutes(window.high_min)} in 19 of 20), {window.how_sure}",
    )
    work, rehearsed = plan.task.work_min, plan.job.job.rehearsed_min is not None
    took = f"the work {'took' if rehearsed else 'takes'} {work:g} min"
    took += " in the dry fit" if rehearsed else ""
    yield _wrapped("BAG SEALED", f"by {window.sealed_by_min:.1f} min; {took}")
    basis = "90 % earliest gel" if window.proven else "median, the window being unproven"
    yield _wrapped("SMOOTHED", f"by {window.smoothed_by_min:.1f} min (both from the {basis})")
    yield _wrapped(
        "TODAY",
        f"shop {measured.shop_c:g} C, resin {measured.resin_c:g} C, form {measured.form_c:g} C: "
        f"the part as at {plan.task.temp_c:.1f} C",
    )
    deepest = plan.deepest_vacuum_kpa
    yield _wrapped(
        "ROOM AIR",
        f"{measured.station_pressure_hpa:g} hPa: deepest vacuum {deepest:.1f} kPa "
        f"({deepest / KPA_PER_INHG:.1f} inHg)",
    )
    peak = plan.peak
    yield _wrapped(
        "PEAK",
        f"laminate about {peak.temp_c:.0f} C, up to {peak.high_c:.0f} C in 19 of 20; {peak.whose} "
        f"bears {peak.limit_c:g} C",
    )
    if plan.pot is not None:
        yield _wrapped("POT LIFE", pot_words(plan.pot))
        yield _wrapped("END", end_words(plan.job, measured.shop_c))
    yield _wrapped("NEXT", advice(plan))
    cans = [one for one in plan.outlook.cups_seen if one.gel_min is not None]
    for cup in cans[-3:]:
        age = f", can open {cup.days_open} days" if cup.days_open is not None else ""
        at = f" at {cup.temp_c:.1f} C" if cup.temp_c is not None else ""
        text = f"{cup.gel_min:.1f} min{at}, {cup.dose_percent:g} %, {cup.on}{age}"
        yield _wrapped("CUP", text)


def _table(plan: Plan) -> Iterator[str]:
    table = what_if(plan)
    yield "GEL in min by dose and temperature;  * leaves time for the work"
    yield f"{'':>8}" + "".join(f"{temp_c:>9.0f} C" for temp_c in table.temps_c)
    for dose, row in zip(table.doses, table.rows, strict=True):
        label = f"{dose:.2f} %" if plan.task.has_dose else ""
        cells = (f"{_minutes(cell.window.gel_min):>9} {'*' if cell.fits else ' '}" for cell in row)
        yield f"{label:>8}" + "".join(cells)
    found = proposed_dose(plan.task)
    if found is not None:
        work = plan.task.work_min
        yield f"{dose_words(found)} leaves {work:g} min of work at {plan.task.temp_c:.1f} C."


def _minutes(minutes: float) -> str:
    if minutes >= LONGEST_SHOWN_MIN:
        return f"over {LONGEST_SHOWN_MIN:.0f}"
    return f"{minutes:.0f}" if minutes >= SHORT_MIN else f"{minutes:.1f}"


_MARKS = {Weight.NOTICE: "note", Weight.BLOCKS: "STOP", Weight.FORBIDS: "STOP"}


def _reasons(plan: Plan) -> Iterator[str]:
    if not plan.reasons:
        yield "Nothing speaks against it."
    for reason in sorted(plan.reasons, key=lambda one: not one.stands):
        yield _wrapped(_mark(reason), f"{reason.name.replace('_', ' ')}: {reason.text}")


def _mark(reason: Reason) -> str:
    return "set aside" if reason.set_aside else _MARKS[reason.weight]


def _cautions(plan: Plan) -> tuple[str, ...]:
    return cautions(plan.job.resin.family)


def _wrapped(label: str, text: str) -> str:
    return textwrap.fill(
        text,
        WIDTH,
        initial_indent=f"{label:<{LABEL}}" if label else " " * (LABEL if text[:1] != "!" else 0),
        subsequent_indent=" " * (LABEL if text[:1] != "!" else 2),
    )
