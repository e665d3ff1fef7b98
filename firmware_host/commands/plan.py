"""`bagvigil plan`: before the pour, on one sheet: resin, dose, work window, and whether to mix."""

from __future__ import annotations

import argparse
import dataclasses
import sys
from pathlib import Path
from typing import Any

import msgspec

from firmware_host.batch.answer import answer_of
from firmware_host.batch.checks import Measured
from firmware_host.batch.plan import plan_of
from firmware_host.batch.sheet import sheet_of
from firmware_host.clock import SystemClock
from firmware_host.commands.set_aside import set_aside
from firmware_host.commands.voice import aside, tell
from firmware_host.config.load import load_job
from firmware_host.config.plan_tables import Conditions
from firmware_host.config.schema import JobDescription
from firmware_host.config.words import meaning
from firmware_host.errors import InputError
from firmware_host.outputs.past_jobs import past_jobs

NEEDED = ("shop_c", "resin_c", "form_c", "station_pressure_hpa")
_TABLE = "conditions"


def add(commands: Any) -> None:  # noqa: ANN401 - argparse's own type for this is private
    """Describe the command line."""
    parser = commands.add_parser(
        "plan",
        help="resin, dose and work window of a pour, and whether to mix",
        description="Reads job.toml and what past jobs taught. Exit code 0 when fit to mix, 1 when "
        "not; every reason is named with what would mend it.",
    )
    parser.add_argument("job", type=Path, metavar="JOB.toml")
    parser.add_argument("--json", action="store_true", help="for a machine instead of a person")
    parser.add_argument(
        "--override",
        nargs=2,
        action="append",
        metavar=("NAME", "REASON"),
        help="set a reason not to mix aside; kept in JOB.toml and printed on sheet and report",
    )
    parser.add_argument("--drops", type=int, help="judge so many drops of the weighed dropper")
    parser.add_argument(
        "--jobs", type=Path, help="where past job folders are; default: jobs beside JOB.toml"
    )
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Plan the pour and say it."""
    job = load_job(args.job)
    if args.override:
        job = set_aside(args.job, args.override)
    if args.drops is not None:
        job = _with_drops(job, args.drops)
    measured = _measured(job.conditions, args.job)
    past = past_jobs(args.jobs if args.jobs is not None else args.job.parent / "jobs")
    for problem in past.problems:
        aside(f"left out: {problem}")
    plan = plan_of(job, measured, past.outcomes, SystemClock().wall().date())
    if args.json:
        tell(msgspec.json.format(msgspec.json.encode(answer_of(plan)), indent=1).decode())
    else:
        tell(sheet_of(plan))
    return 0 if plan.fit_to_mix else 1


def _with_drops(job: JobDescription, drops: int) -> JobDescription:
    if not 1 <= drops <= 10_000:
        raise InputError([f"--drops {drops} must be from 1 to 10000."])
    if job.dropper is None:
        raise InputError(["--drops needs a [dropper] in the job file: weigh 20 drops of it."])
    return dataclasses.replace(job, dropper=dataclasses.replace(job.dropper, drops=drops))


def _measured(given: Conditions, path: Path) -> Measured:
    """Take the conditions as written; ask for a missing one on a terminal, else name it."""
    values = {name: getattr(given, name) for name in NEEDED}
    missing = [name for name, value in values.items() if value is None]
    if missing and not sys.stdin.isatty():
        raise InputError(
            [
                f"{path}: [{_TABLE}] has no {name}. Measure it and add a line {name} = ... "
                f"({meaning(_TABLE, name)})."
                for name in missing
            ]
        )
    for name in missing:
        values[name] = _asked(name)
    return Measured(**values, altitude_m=given.altitude_m)


def _asked(name: str) -> float:
    aside(f"{name}, {meaning(_TABLE, name)}:")
    text = sys.stdin.readline().strip().replace(",", ".")
    try:
        return float(getattr(msgspec.convert({name: float(text)}, Conditions), name))
    except (ValueError, msgspec.ValidationError):
        raise InputError(
            [f"{name}: {text!r} is no value that can be meant. Write it as in 19.0."]
        ) from None
