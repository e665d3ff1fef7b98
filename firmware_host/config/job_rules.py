"""Rules of job.toml that join several keys: resin and preset, dose, drop rule, vacuum limits.

Each takes the reading, notes what is wrong, and returns the table (None where it cannot be made)
with the names of the keys that were assumed.
"""

from __future__ import annotations

import dataclasses
from datetime import date
from typing import Any

from firmware_host.config.convert import Reading
from firmware_host.config.drop_rule import AGREEMENT, drop_limit_pa_per_s
from firmware_host.config.presets import OWN_KINETICS_LN_RATE_SD, PRESETS
from firmware_host.config.schema import Bag, Family, JobTable, Resin
from firmware_host.config.wording import nearest, shown
from firmware_host.config.words import meaning

INITIATOR_KEYS = (
    "initiator_reference_percent",
    "induction_min_at_25c",
    "induction_activation_kj_per_mol",
    "induction_initiator_exponent",
    "rate_initiator_exponent",
)
"""Without an initiator these are 0, whatever the file says."""
KINETICS_KEYS = ("rate_at_25c_per_s", "induction_min_at_25c")
"""A file that gives these (the first alone, where there is no initiator) states the kinetics."""
BAG_RULE_KEYS = frozenset({"drop_rule", "drop_limit_pa_per_s"})


def resin_of(reading: Reading) -> tuple[Resin | None, set[str]]:
    """[resin] completed from the preset it names or from its family's."""
    raw = reading.table("resin")
    if raw is None:
        if "resin" not in reading.source.values:
            reading.say((), f"there is no table [resin]. {_RESIN_WAYS}")
        return None, set()
    given = reading.values(("resin",), raw, Resin, extra={"preset"})
    preset = _preset(reading, raw, given)
    if preset is None:
        return None, set()
    values = dataclasses.asdict(preset) | given
    if "ln_rate_sd" not in given and _states_kinetics(given, values):
        values["ln_rate_sd"] = OWN_KINETICS_LN_RATE_SD
    resin = _without_initiator(Resin(**values))
    _check_gel(reading, resin)
    return resin, _assumed_of(resin, given)


_RESIN_WAYS = f"Write [resin] and family = one of {', '.join(shown(name) for name in Family)}."


def _preset(reading: Reading, raw: dict[str, Any], given: dict[str, Any]) -> Resin | None:
    family = given.get("family")
    if "preset" not in raw:
        if family is None and "family" not in raw:
            reading.say(("resin",), f"[resin] has neither family nor preset. {_RESIN_WAYS}")
        return PRESETS[family] if family is not None else None
    name = raw["preset"]
    if not isinstance(name, str) or name not in PRESETS:
        guess = nearest(name, PRESETS) if isinstance(name, str) else ""
        text = f"is not in the library, which holds {', '.join(PRESETS)}.{guess}"
        reading.say_key(("resin", "preset"), name, text)
        return None
    preset = PRESETS[name]
    if family is not None and family != preset.family:
        text = f"is not the family of the preset {shown(name)}. Take one of the two lines out."
        reading.say_key(("resin", "family"), str(family), text)
    return preset


def _states_kinetics(given: dict[str, Any], values: dict[str, Any]) -> bool:
    starts_at_once = values["family"] is Family.EPOXY or not values["initiator_reference_percent"]
    needed = KINETICS_KEYS[:1] if starts_at_once else KINETICS_KEYS
    return all(key in given for key in needed)


def _without_initiator(resin: Resin) -> Resin:
    if resin.family is Family.EPOXY or not resin.has_initiator:
        dropped: dict[str, Any] = dict.fromkeys(INITIATOR_KEYS, 0.0)
        return dataclasses.replace(resin, **dropped)
    return resin


def _check_gel(reading: Reading, resin: Resin) -> None:
    if resin.gel_conversion >= resin.conversion_limit_at_20c:
        text = (
            f"must be below conversion_limit_at_20c = {resin.conversion_limit_at_20c}, "
            "or the resin never gels. Check both against where they come from."
        )
        reading.say_key(("resin", "gel_conversion"), resin.gel_conversion, text)


def _assumed_of(resin: Resin, given: dict[str, Any]) -> set[str]:
    silent = {"hardener_parts_per_100"} if resin.family is not Family.EPOXY else set()
    if not resin.has_initiator:
        silent.update(INITIATOR_KEYS)
    names = {one.name for one in dataclasses.fields(Resin)} - silent - given.keys() - {"family"}
    return {f"resin.{name}" for name in names}


def job_of(reading: Reading, resin: Resin | None) -> tuple[JobTable | None, set[str]]:
    """[job], with the dose checked against the resin and taken from it where it is absent."""
    raw = reading.table("job")
    if raw is None:
        if "job" not in reading.source.values:
            part = meaning("job", "part")
            reading.say((), f'there is no table [job]. Write [job] and part = "..." ({part}).')
        return None, set()
    job = reading.build(("job",), raw, JobTable)
    if job is None or resin is None:
        return None, set()
    assumed = {f"job.{one.name}" for one in dataclasses.fields(JobTable) if one.name not in raw}
    assumed.discard("job.rehearsed_min")
    if not resin.has_initiator:
        assumed.discard("job.initiator_percent")
    elif "initiator_percent" not in raw:
        job = dataclasses.replace(job, initiator_percent=resin.initiator_reference_percent)
    if raw.get("initiator_percent", job.initiator_percent) == job.initiator_percent:
        _check_dose(reading, job, resin)  # else its own line has said what is wrong with it
    return job, assumed


def _check_dose(reading: Reading, job: JobTable, resin: Resin) -> None:
    dose, place = job.initiator_percent, ("job", "initiator_percent")
    if resin.has_initiator and dose == 0.0:
        text = (
            f"but {resin.family} does not cure without initiator. Write what was weighed in, or "
            f"take the line out to assume the {resin.initiator_reference_percent} it is rated at."
        )
        reading.say_key(place, dose, text)
    if resin.family is Family.EPOXY and dose > 0.0:
        text = "but a two-part epoxy takes no initiator. Take the line out, or correct the family."
        reading.say_key(place, dose, text)


def bag_of(reading: Reading) -> tuple[Bag, set[str]]:
    """[bag], with the drop rule and the drop limit made one."""
    raw = reading.table("bag") or {}
    given = reading.values(("bag",), raw, Bag)
    assumed = {f"bag.{one.name}" for one in dataclasses.fields(Bag) if one.name not in raw}
    if BAG_RULE_KEYS & raw.keys():
        assumed -= {f"bag.{key}" for key in BAG_RULE_KEYS}
    else:
        assumed.discard("bag.drop_rule")
    bag = Bag(**given | _drop_limit(reading, given))
    _check_pressures(reading, bag)
    return bag, assumed


def _drop_limit(reading: Reading, given: dict[str, Any]) -> dict[str, Any]:
    rule, limit = given.get("drop_rule"), given.get("drop_limit_pa_per_s")
    if rule is None:
        return {} if limit is None else {"drop_rule": f"{limit:g} Pa/s"}
    try:
        ruled = drop_limit_pa_per_s(rule)
    except ValueError as error:
        reading.say_key(("bag", "drop_rule"), rule, f"{error}.".replace("?.", "?"))
        return {}
    if limit is not None and abs(limit - ruled) > AGREEMENT * ruled:
        text = f"is {ruled:.3g} Pa/s, but drop_limit_pa_per_s says {limit:g}. Keep one of the two."
        reading.say_key(("bag", "drop_rule"), rule, text)
    return {"drop_limit_pa_per_s": ruled if limit is None else limit}


def _check_pressures(reading: Reading, bag: Bag) -> None:
    if bag.pump_cycle_mbar is None:
        return
    place, band = ("bag", "pump_cycle_mbar"), list(bag.pump_cycle_mbar)
    low, high = bag.pump_cycle_mbar
    if low >= high:
        text = "must be the lower pressure first, then the higher: [switches off, switches on]."
        reading.say_key(place, band, text)
    elif bag.pressure_limit_mbar <= high:
        text = (
            f"reaches up to {high:g}, but pressure_limit_mbar = {bag.pressure_limit_mbar:g} must "
            "be above that, or each cycle would count as vacuum lost. Raise the limit."
        )
        reading.say_key(place, band, text)


def check_sheet(reading: Reading) -> None:
    """Note a data sheet's gel time without its temperature, or a dose range upside down."""
    sheet = reading.table("sheet") or {}
    if "gel_min" in sheet and "gel_at_c" not in sheet:
        text = "says nothing without gel_at_c: add the temperature at which the sheet prints it."
        reading.say_key(("sheet", "gel_min"), sheet["gel_min"], text)
    low, high = sheet.get("lowest_percent"), sheet.get("highest_percent")
    if isinstance(low, float) and isinstance(high, float) and low > high:
        text = f"is above highest_percent = {high}. Exchange the two."
        reading.say_key(("sheet", "lowest_percent"), low, text)


def check_dropper(reading: Reading) -> None:
    """Note a dropper weighed by halves, and an ounce that may be either of two."""
    dropper = reading.table("dropper") or {}
    halves = ("drops_weighed", "weighed_g")
    for one, other in (halves, halves[::-1]):
        if one in dropper and other not in dropper:
            text = f"says nothing without {other}: weigh 20 drops and give both."
            reading.say_key(("dropper", one), dropper[one], text)
    if "drops_per_ounce" in dropper and "ounce" not in dropper:
        text = (
            'says nothing without ounce: add ounce = "fluid" or "weight"; for resin they are '
            "15 % apart."
        )
        reading.say_key(("dropper", "drops_per_ounce"), dropper["drops_per_ounce"], text)


def check_weighed(reading: Reading) -> None:
    """Note a part that weighs no more than the cloth in it."""
    weighed = reading.table("weighed") or {}
    dry_g, part_g = weighed.get("dry_g"), weighed.get("part_g")
    if isinstance(dry_g, int | float) and isinstance(part_g, int | float) and part_g <= dry_g:
        text = f"must be above dry_g = {dry_g}: the part holds that cloth. Weigh both again."
        reading.say_key(("weighed", "part_g"), part_g, text)


def check_lots(reading: Reading) -> None:
    """Note a lot that expires, or was opened, before it was made."""
    for path, lot in reading.rows("lots"):
        made = lot.get("made")
        for key, word in (("opened", "opened"), ("expires", "expired")):
            day = lot.get(key)
            if isinstance(made, date) and isinstance(day, date) and day < made:
                text = f"is before made = {made}: nothing is {word} before it is made. Mend one."
                reading.say_key((*path, key), day, text)


GLASS_KG_PER_M3 = 2540.0
"""E-glass; cloth that fills the whole thickness has no room for resin."""


def check_target(reading: Reading) -> None:
    """Note a target thickness without cloth, or one that the dry cloth alone exceeds."""
    target = reading.table("target") or {}
    thick_mm = target.get("thickness_mm")
    if not isinstance(thick_mm, int | float):
        return
    cloth_mm = sum(map(_cloth_mm, (row for _, row in reading.rows("plies"))))
    if "plies" not in reading.source.values:
        text = "needs the cloth: add a table [[plies]] per kind."
        reading.say_key(("target", "thickness_mm"), thick_mm, text)
    elif cloth_mm >= thick_mm:
        text = f"is no more than the glass alone, {cloth_mm:.2f} mm. Name fewer plies, or more mm."
        reading.say_key(("target", "thickness_mm"), thick_mm, text)


def _cloth_mm(row: dict[str, Any]) -> float:
    weight, count = row.get("areal_weight_g_per_m2"), row.get("count", 1)
    if not isinstance(weight, int | float) or not isinstance(count, int):
        return 0.0
    return weight * count / GLASS_KG_PER_M3
