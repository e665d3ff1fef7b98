"""Write a commented job.toml and bench.toml: every key, its unit, what it means, its default.

What the person said, and what is needed, is a line; every other key is a comment that holds the
default or an example. What is written loads without a problem, with any comment taken live too.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Collection, Mapping
from datetime import date
from typing import Any

from firmware_host.config.channel_keys import keys_of_kind
from firmware_host.config.convert import field_names
from firmware_host.config.job_rules import INITIATOR_KEYS
from firmware_host.config.presets import PRESETS
from firmware_host.config.schema import Bench, BenchChannel, ChannelKind, Family, JobDescription
from firmware_host.config.tables import lists_of, tables_of
from firmware_host.config.wording import quoted, shown
from firmware_host.config.words import BENCH_WORDS, JOB_WORDS
from firmware_host.model.channels import channel_named

WORDS_COLUMN = 40
"""Where the words begin; a longer line pushes its own to the right."""

_JOB_HEAD = """\
# One job, as Bag Vigil knows it. A line that begins with # is a comment: take the # away and set
# the value where you know better. What stays a comment is assumed as written, with a wider answer.
"""
_BENCH_HEAD = """\
# What hangs on one bench: ports, channels, broker. Relative paths count from this file's folder.
"""
_SOURCES_HINT = """\
# A port of kind spi, i2c or modbus has no board that says what its raws are: it needs a [[source]]
# for each of them. `hardware/wiring.md` has every part with its keys.
"""
_CAUTIONS = {
    Family.EPOXY: """\
# Two-part epoxy: the ratio on the maker's data sheet, by weight; more hardener does not hurry it.
# Gloves and eye protection: hardener burns and sensitises. Thick leftovers in a cup pass 200 C.
""",
}
_PEROXIDE_CAUTION = """\
# Dose: the maker's data sheet wins over every number here. Weigh it rather than count drops.
# Eye protection before the bottle is opened. NEVER mix initiator directly with promoter (cobalt,
# amine): that decomposes violently. Promoter into the resin first, stirred; then the initiator.
"""
_LIVE_JOB_TABLES = frozenset({"job", "resin", "laminate", "bag", "limits", "conditions"})
_LIVE_BENCH_TABLES = frozenset({"bench", "socket", "record"})

_EXAMPLES: Mapping[str, Any] = {
    "glass_transition_c": 70.0,
    "altitude_m": 120.0,
    "area_m2": 0.20,
    "buzzer_pin": 17,
    "lamp_high_pin": 22,
    "lamp_medium_pin": 23,
    "lamp_low_pin": 24,
    "tone_pin": 18,
    "button_pin": 27,
    "calibrated_on": date(2026, 3, 1),
    "areal_weight_g_per_m2": 200.0,
    "at_c": 20.0,
    "coldest_c": 15.0,
    "deepest_vacuum_kpa": 60.0,
    "device": "/dev/serial/by-id/usb-board",
    "drop_limit_pa_per_s": 11.3,
    "drops": 50,
    "drops_per_ounce": 8.0,
    "drops_weighed": 20,
    "dry_g": 167.0,
    "crush_kpa": 104.0,
    "expires": date(2026, 12, 31),
    "fibre_volume_fraction": 0.32,
    "form_c": 20.0,
    "free_volume_l": 3.0,
    "gel_at_c": 20.0,
    "gel_at_percent": 1.5,
    "gel_min": 30.0,
    "hardener_parts_per_100": 30.0,
    "highest_percent": 2.5,
    "highest_temperature_c": 60.0,
    "host": "127.0.0.1",
    "initiator_percent": 1.5,
    "latest_gel_min": 120.0,
    "loss_fraction": 0.15,
    "lot": "A-0001",
    "lowest_pa": 15000.0,
    "lowest_percent": 1.0,
    "made": date(2025, 12, 1),
    "name": "dose_high",
    "on": date(2026, 3, 1),
    "opened": date(2026, 1, 15),
    "ounce": "fluid",
    "part": "drone fairing, lower half",
    "part_g": 326.0,
    "pump_cycle_mbar": (40.0, 80.0),
    "reason": "small batch in a cold shop",
    "rehearsed_min": 23.0,
    "resin_c": 20.0,
    "shell_to_cup_ratio": 1.35,
    "shop_c": 20.0,
    "station_pressure_hpa": 1009.0,
    "supply_index": 5,
    "thickness_mm": 2.0,
    "volts_per_count": 187.5e-6,
    "weighed_g": 1.10,
    "weighed_on": date(2026, 2, 1),
    "what": "resin",
    "who": "M.",
    "work_time_min": 20.0,
}
"""Shown where a key has no default of its own."""

_CHANNELS: tuple[tuple[str, ChannelKind, dict[str, Any]], ...] = (
    ("bag", ChannelKind.ADC16S, {"volts_per_count": 187.5e-6}),
    ("part1", ChannelKind.TC31855, {"couple": "K"}),
    ("shop", ChannelKind.RTD31865, {}),
)


def job_template(
    *,
    part: str,
    family: Family | str,
    given: Mapping[str, Mapping[str, Any]] | None = None,
) -> str:
    """Write job.toml; `given` holds what else the person said, by table and key.

    Raises ValueError for a family, table or key that the schema does not hold.
    """
    family = Family(family)
    said = {table: dict(keys) for table, keys in (given or {}).items()}
    said["job"] = {"part": part} | said.get("job", {})
    said["resin"] = {"family": str(family)} | said.get("resin", {})
    _check_known(said)
    blocks = [_JOB_HEAD, _CAUTIONS.get(family, _PEROXIDE_CAUTION)]
    for name, kind in tables_of(JobDescription).items():
        heading = f"[[{name}]]" if name in lists_of(JobDescription) else f"[{name}]"
        live = name in _LIVE_JOB_TABLES or name in said
        defaults = _job_defaults(name, kind, family)
        blocks.append(_block(heading, JOB_WORDS[name], defaults, said.get(name, {}), live=live))
    return "\n".join(blocks)


def _check_known(said: Mapping[str, Mapping[str, Any]]) -> None:
    for table, keys in said.items():
        strange = keys.keys() - JOB_WORDS.get(table, {}).keys()
        if table not in JOB_WORDS or table in lists_of(JobDescription) or strange:
            raise ValueError(f"[{table}] {', '.join(sorted(strange))} has no place in a template")


def _job_defaults(name: str, kind: type, family: Family) -> dict[str, Any]:
    if name == "resin":
        preset = dataclasses.asdict(PRESETS[family]) | {"preset": str(family)}
        defaults = {key: preset[key] for key in JOB_WORDS["resin"]}
        defaults["hardener_parts_per_100"] = _EXAMPLES["hardener_parts_per_100"]
    else:
        defaults = _defaults(kind, field_names(kind))
    if family is Family.EPOXY:
        unfit = {*INITIATOR_KEYS, "initiator_percent"}
    else:
        unfit = {"hardener_parts_per_100"}
        if name == "job":
            defaults["initiator_percent"] = PRESETS[family].initiator_reference_percent
    return {key: value for key, value in defaults.items() if key not in unfit}


def bench_template() -> str:
    """Write bench.toml for a board with a bag transducer and two couples, to be adapted."""
    blocks = [_BENCH_HEAD]
    for name, kind in tables_of(Bench).items():
        words = BENCH_WORDS[name]
        if name == "port":
            said = {"name": "board", "kind": "bv1", "device": _EXAMPLES["device"]}
            keys = [key for key in words if key != "parity"]
            blocks.append(_block("[[port]]", words, _defaults(kind, keys), said, live=True))
        elif name == "source":
            blocks.append(_SOURCES_HINT)
        elif name == "channel":
            blocks += [_channel_block(number, *one) for number, one in enumerate(_CHANNELS)]
        else:
            live = name in _LIVE_BENCH_TABLES
            blocks.append(_block(f"[{name}]", words, _defaults(kind, words), {}, live=live))
    return "\n".join(blocks)


def _channel_block(number: int, name: str, kind: ChannelKind, more: Mapping[str, Any]) -> str:
    said = {"name": name, "port": "board", "index": number, "kind": str(kind), **more}
    quantity = channel_named(name).role.quantity
    defaults = _defaults(BenchChannel, keys_of_kind(kind, quantity))
    return _block("[[channel]]", BENCH_WORDS["channel"], defaults, said, live=True)


def _defaults(kind: type, keys: Collection[str]) -> dict[str, Any]:
    """Value that a comment shows for each key: the default, else the example."""
    fields = {one.name: one.default for one in dataclasses.fields(kind)}
    unsaid = (None, dataclasses.MISSING)
    return {key: _EXAMPLES.get(key) if fields[key] in unsaid else fields[key] for key in keys}


def _block(
    heading: str,
    words: Mapping[str, str],
    defaults: Mapping[str, Any],
    said: Mapping[str, Any],
    *,
    live: bool,
) -> str:
    lines = [heading if live else f"# {heading}"]
    for key in words:
        if key in said:
            line = f"{key} = {toml_value(said[key])}"
        elif key in defaults:
            line = f"# {key} = {toml_value(defaults[key])}"
        else:
            continue
        lines.append(f"{line:<{WORDS_COLUMN}}  # {words[key]}")
    return "\n".join(lines) + "\n"


def toml_value(value: object) -> str:
    """Write a value as TOML.

    >>> toml_value((40.0, 80.0))
    '[40.0, 80.0]'
    """
    if isinstance(value, str):
        return quoted(value)
    if isinstance(value, list | tuple):
        return "[" + ", ".join(toml_value(one) for one in value) + "]"
    return shown(value)
