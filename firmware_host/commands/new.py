"""`bagvigil new`: a few plain questions, and a commented job.toml."""

from __future__ import annotations

import argparse
import os
import sys
from pathlib import Path
from typing import Any

from firmware_host.commands.voice import aside, tell
from firmware_host.config.copied import copied
from firmware_host.config.load import load_job, parse_job
from firmware_host.config.schema import Family
from firmware_host.config.template import bench_template, job_template
from firmware_host.errors import InputError
from firmware_host.outputs.record_schema import JOB_NAME

PART = "kayak hatch cover"


def add(commands: Any) -> None:  # noqa: ANN401 - argparse's own type for this is private
    """Describe the command line."""
    parser = commands.add_parser(
        "new",
        help="write a commented job.toml",
        description="Asks what it was not told, on a terminal; elsewhere takes the defaults.",
    )
    parser.add_argument("--out", type=Path, default=Path(JOB_NAME), help="where to write it")
    parser.add_argument("--part", help="what is being made")
    parser.add_argument("--family", choices=[family.value for family in Family])
    parser.add_argument("--work-time-min", type=float, help="honest minutes, mixing to bag closed")
    parser.add_argument("--initiator-percent", type=float, help="mass per 100 of resin")
    parser.add_argument("--from", dest="source", type=Path, help="copy a past job folder's job")
    parser.add_argument("--bench", type=Path, help="write a commented bench file there as well")
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Write the file, never over another one."""
    text = _copied(args.source) if args.source is not None else _asked(args)
    parse_job(text, str(args.out))
    _write_new(args.out, text)
    tell(
        f"{args.out}: change what differs, then bagvigil watch --bench bench.toml --job {args.out}"
    )
    if args.bench is not None:
        _write_new(args.bench, bench_template())
        tell(f"{args.bench}: name your port and channels in it")
    return 0


def _copied(source: Path) -> str:
    path = source / JOB_NAME if source.is_dir() else source
    load_job(path)
    return copied(path.read_text(encoding="utf-8-sig"))


def _asked(args: argparse.Namespace) -> str:
    part = args.part or _ask("What is being made", PART)
    family = Family(args.family or _ask("Resin: polyester, vinylester or epoxy", "polyester"))
    work = args.work_time_min
    if work is None:
        work = _number(_ask("Honest minutes from mixing to bag closed", "25"))
    job: dict[str, float] = {"work_time_min": work}
    if family is not Family.EPOXY:
        percent = args.initiator_percent
        if percent is None:
            percent = _number(_ask("Initiator (catalyst), grams per 100 g of resin", "1.5"))
        job["initiator_percent"] = percent
    return job_template(part=part, family=family, given={"job": job})


def _ask(question: str, default: str) -> str:
    if not sys.stdin.isatty():
        return default
    aside(f"{question} [{default}]: ")
    return sys.stdin.readline().strip() or default


def _number(text: str) -> float:
    try:
        return float(text.replace(",", "."))
    except ValueError:
        raise InputError([f"{text!r} is not a number. Write it as 25 or 1.5."]) from None


def _write_new(path: Path, text: str) -> None:
    try:
        handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o644)
    except FileExistsError:
        raise InputError([f"{path} is there already. Name another file with --out."]) from None
    except OSError as error:
        raise InputError([f"{path} cannot be written: {error.strerror}. Name another."]) from None
    with os.fdopen(handle, "w", encoding="utf-8") as file:
        file.write(text)
