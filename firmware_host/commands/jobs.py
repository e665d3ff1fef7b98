"""`bagvigil jobs`: past jobs listed and filtered, or two of them side by side."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import Any

import msgspec

from firmware_host.commands.voice import aside, tell
from firmware_host.errors import InputError
from firmware_host.history.listing import Row, Wanted, compared, filtered, gel_words
from firmware_host.history.outcomes import Kind, Outcome
from firmware_host.outputs.past_jobs import past_jobs

_HEAD = f"{'job':<34} {'lot':<10} {'dose %':>6} {'at C':>5} {'shop C':>6} {'gel min':>10}"


def add(commands: Any) -> None:  # noqa: ANN401 - argparse's own type for this is private
    """Describe the command line."""
    parser = commands.add_parser(
        "jobs",
        help="list past jobs, or compare two",
        description="Lists what past jobs and cups say, newest first. With --compare, two jobs "
        "side by side, differences first.",
    )
    parser.add_argument("folder", type=Path, nargs="?", default=Path("jobs"), metavar="FOLDER")
    parser.add_argument("--form", default="", help="only jobs on this form")
    parser.add_argument("--resin", default="", help="only this resin")
    parser.add_argument("--lot", default="", help="only this can")
    parser.add_argument("--shop-from", type=float, metavar="C", help="shop at least this warm")
    parser.add_argument("--shop-to", type=float, metavar="C", help="shop at most this warm")
    parser.add_argument("--compare", nargs=2, metavar="JOB", help="two job folders' names")
    parser.add_argument("--json", action="store_true", help="for a machine instead of a person")
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """List or compare."""
    if not args.folder.is_dir():
        raise InputError([f"{args.folder} is no folder. Name the one that holds the job folders."])
    past = past_jobs(args.folder)
    for problem in past.problems:
        aside(f"left out: {problem}")
    if args.compare is not None:
        return _compare(past.outcomes, args.compare, as_json=args.json)
    wanted = Wanted(
        form=args.form,
        resin=args.resin,
        lot=args.lot,
        coldest_c=args.shop_from,
        warmest_c=args.shop_to,
    )
    _list(filtered(past.outcomes, wanted), as_json=args.json)
    return 0


def _list(jobs: list[Outcome], *, as_json: bool) -> None:
    if as_json:
        _give({"schema": 1, "jobs": msgspec.to_builtins(jobs)})
        return
    if not jobs:
        tell("No such job.")
        return
    tell(_HEAD)
    for job in jobs:
        tell(_line(job))


def _line(job: Outcome) -> str:
    name = job.job if job.kind is Kind.SHELL else f"cup {job.on or ''} {job.part}"
    at = "-" if job.temp_c is None else f"{job.temp_c:.1f}"
    shop = "-" if job.shop_c is None else f"{job.shop_c:.1f}"
    return (
        f"{name[:34]:<34} {job.lot[:10] or '-':<10} {job.dose_percent:>6.2f} {at:>5} {shop:>6} "
        f"{gel_words(job):>10}"
    )


def _compare(jobs: tuple[Outcome, ...], names: list[str], *, as_json: bool) -> int:
    by_name = {job.job: job for job in jobs}
    strange = [name for name in names if Path(name).name not in by_name]
    if strange:
        raise InputError(
            [f"{name}: there is no such job. bagvigil jobs lists them." for name in strange]
        )
    first, second = (by_name[Path(name).name] for name in names)
    rows = compared(first, second)
    if as_json:
        _give({"schema": 1, "rows": msgspec.to_builtins(rows)})
        return 0
    tell(f"{'':<16}{first.job[:30]:<31} {second.job[:30]}")
    for row in rows:
        tell(_pair(row))
    return 0


def _pair(row: Row) -> str:
    mark = "*" if row.differs else " "
    return f"{mark} {row.name:<14}{row.first[:30]:<31} {row.second[:30]}"


def _give(document: Any) -> None:  # noqa: ANN401 - any JSON
    tell(msgspec.json.format(msgspec.json.encode(document), indent=1).decode())
