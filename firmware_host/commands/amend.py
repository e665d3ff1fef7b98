"""`bagvigil amend`: add to a finished record what was found wrong in it, and by whom."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import Any

from firmware_host.clock import SystemClock
from firmware_host.commands.voice import plain, tell
from firmware_host.outputs.amendment import Amendment, amend, amendments
from firmware_host.outputs.record_reader import open_record


def add(commands: Any) -> None:  # noqa: ANN401 - argparse's own type for this is private
    """Describe the command line."""
    parser = commands.add_parser(
        "amend",
        help="add to a finished record what was found wrong in it",
        description="Adds a text with who, when and why; nothing in the record is written over. "
        "Without a text it lists what was added.",
    )
    parser.add_argument("folder", type=Path, metavar="FOLDER")
    parser.add_argument("text", nargs="?", metavar="TEXT", help="what is so in truth")
    parser.add_argument("--by", default="", metavar="NAME", help="who says so")
    parser.add_argument("--why", default="", metavar="TEXT", help="how that is known")
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Add one, or list them all."""
    if args.text is not None:
        now = SystemClock().wall()
        tell(_words(amend(args.folder, now, by=args.by, why=args.why, text=args.text)))
        return 0
    with open_record(args.folder) as record:
        for one in amendments(record):
            tell(_words(one))
    return 0


def _words(one: Amendment) -> str:
    return plain(f"{one.n}. {one.at} {one.by}: {one.text} (why: {one.why})")
