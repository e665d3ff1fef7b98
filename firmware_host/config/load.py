"""Read job.toml and bench.toml into the schema, or say everything that is wrong with them at once.

The only part of `config` that touches a file.
"""

from __future__ import annotations

import dataclasses
from pathlib import Path
from typing import Any

from firmware_host.config.bench_rules import channels_of, check_signals, ports_of
from firmware_host.config.convert import Reading
from firmware_host.config.job_rules import (
    bag_of,
    check_dropper,
    check_lots,
    check_sheet,
    check_target,
    check_weighed,
    job_of,
    resin_of,
)
from firmware_host.config.schema import Bench, Cup, JobDescription, Laminate, Limits
from firmware_host.config.source_rules import sources_of
from firmware_host.config.tables import lists_of, tables_of
from firmware_host.config.toml_text import parse, read_text


def load_job(path: str | Path) -> JobDescription:
    """Read job.toml. Raises InputError with every problem."""
    return parse_job(read_text(path), str(path))


def load_bench(path: str | Path) -> Bench:
    """Read bench.toml. Raises InputError with every problem."""
    return parse_bench(read_text(path), str(path))


def parse_job(text: str, name: str) -> JobDescription:
    """Make a job description of the text of the file called `name`."""
    reading = Reading(parse(text, name), tables_of(JobDescription))
    reading.check_table_names()
    resin, resin_assumed = resin_of(reading)
    job, job_assumed = job_of(reading, resin)
    bag, bag_assumed = bag_of(reading)
    others = _plain_tables(reading, JobDescription, without={"job", "resin", "bag"})
    for check in (check_sheet, check_dropper, check_weighed, check_lots, check_target):
        check(reading)
    reading.finish()
    assert job is not None and resin is not None, "what cannot be made was noted as a problem"
    assumed = resin_assumed | job_assumed | bag_assumed | _assumed_plainly(reading)
    return JobDescription(job=job, resin=resin, bag=bag, assumed=tuple(sorted(assumed)), **others)


def parse_bench(text: str, name: str) -> Bench:
    """Make a bench of the text of the file called `name`."""
    reading = Reading(parse(text, name), tables_of(Bench))
    reading.check_table_names()
    ports = ports_of(reading)
    sources = sources_of(reading, ports)
    channels = channels_of(reading, ports, sources)
    others = _plain_tables(reading, Bench, without={"port", "source", "channel"})
    check_signals(reading, others.get("signals"))
    reading.finish()
    source = tuple(source for _, _, source in sources)
    return Bench(port=tuple(ports), source=source, channel=tuple(channels), **others)


def _plain_tables(reading: Reading, root: type, without: set[str]) -> dict[str, Any]:
    """Every table without rules of its own, as far as the file gives it."""
    lists = lists_of(root)
    made: dict[str, Any] = {}
    for name, kind in tables_of(root).items():
        if name in without or name not in reading.source.values:
            continue
        if name in lists:
            made[name] = tuple(reading.build(path, raw, kind) for path, raw in reading.rows(name))
        elif (raw := reading.table(name)) is not None:
            made[name] = reading.build((name,), raw, kind)
    return made


def _assumed_plainly(reading: Reading) -> set[str]:
    """Defaulted keys of the tables that steer the watch and have no rules of their own."""
    tables: dict[str, type] = {"laminate": Laminate, "limits": Limits}
    if "cup" in reading.source.values:
        tables["cup"] = Cup
    return {
        f"{table}.{one.name}"
        for table, kind in tables.items()
        for one in dataclasses.fields(kind)
        if one.name not in (reading.table(table) or {})
    }
