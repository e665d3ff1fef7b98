"""`bagvigil report`: the page that a job leaves behind."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import Any

from firmware_host.clock import SystemClock
from firmware_host.commands.progress import ProgressLine
from firmware_host.commands.voice import aside, tell
from firmware_host.errors import BusyError
from firmware_host.outputs.attachment import attach_page
from firmware_host.outputs.record_schema import PAGE_NAME
from firmware_host.outputs.whole_file import write_whole


def add(commands: Any) -> None:  # noqa: ANN401 - argparse's own type for this is private
    """Describe the command line."""
    parser = commands.add_parser(
        "report",
        help="write the page that a job leaves behind",
        description=f"Writes FOLDER/{PAGE_NAME}: one page that explains itself, and an appendix. "
        "Works while the job still runs. The page is also kept in the record; while a daemon "
        "writes there, it is left in the folder and the daemon takes it in when it stops.",
    )
    parser.add_argument("folder", type=Path, metavar="FOLDER")
    parser.add_argument(
        "--pdf", action="store_true", help="write report.pdf too; needs the extra bagvigil[pdf]"
    )
    parser.add_argument(
        "--wait-s",
        type=float,
        default=0.0,
        metavar="SECONDS",
        help="first wait up to so long until the record says that the job has ended",
    )
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Make the page, write it whole or not at all, and keep it in the record."""
    # Drawing takes half a second to load, and no other command is to wait for it.
    from firmware_host.commands.report_folder import make_page, wait_for_end
    from firmware_host.report.render import pdf_printer

    print_pdf = pdf_printer() if args.pdf else None  # says what is missing before any work
    clock = SystemClock()
    wait_for_end(args.folder, args.wait_s, clock)
    with ProgressLine("making the page", clock, sys.stderr) as progress:
        made = make_page(args.folder, progress)
    path = made.folder / PAGE_NAME
    write_whole(path, made.page.encode())
    tell(str(path))
    if print_pdf is not None:
        pdf_path = path.with_suffix(".pdf")
        write_whole(pdf_path, print_pdf(made.page))
        tell(str(pdf_path))
    _keep(made.folder)
    return 0


def _keep(folder: Path) -> None:
    try:
        attach_page(folder, frames_too=False)
    except BusyError:
        aside("The record is being written: its daemon takes the page in when it stops.")
