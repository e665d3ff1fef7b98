"""`bagvigil export`: a job's record for other programs."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import Any

from firmware_host.clock import SystemClock
from firmware_host.commands.progress import ProgressLine
from firmware_host.commands.voice import aside
from firmware_host.errors import InputError
from firmware_host.outputs.log_rows import LATEST_MS, LeftOut
from firmware_host.outputs.record_export import export_csv, export_json, export_parquet
from firmware_host.outputs.record_reader import open_record

FORMATS = {"csv": export_csv, "json": export_json, "parquet": export_parquet}


def add(commands: Any) -> None:  # noqa: ANN401 - argparse's own type for this is private
    """Describe the command line."""
    parser = commands.add_parser(
        "export",
        help="write a job's record as CSV, JSON or Parquet",
        description="Writes a record out. The CSV is a log that `bagvigil replay` takes again; "
        "JSON holds everything; Parquet needs pyarrow. The record is only read.",
    )
    parser.add_argument("folder", type=Path, metavar="FOLDER")
    form = parser.add_mutually_exclusive_group(required=True)
    for name in FORMATS:
        form.add_argument(f"--{name}", type=Path, metavar="FILE")
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Export what was named."""
    name, target = next(
        (name, held) for name in FORMATS if (held := getattr(args, name)) is not None
    )
    if not target.name or target.is_dir():
        raise InputError([f"{target} is a folder. Name a file with --{name}."])
    with (
        open_record(args.folder) as record,
        ProgressLine("exporting", SystemClock(), sys.stderr) as progress,
    ):
        left_out = FORMATS[name](record, target, progress)
    _tell_left_out(left_out)
    aside(f"{args.folder} is written to {target}")
    return 0


def _tell_left_out(left_out: LeftOut) -> None:
    if left_out.frames:
        late_s = LATEST_MS // 1000
        aside(f"{left_out.frames} frames that came more than {late_s} s late have no place in it.")
    if left_out.marks:
        aside(f"{left_out.marks} marks have no place in a log: only that the job was abandoned.")
