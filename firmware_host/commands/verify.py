"""`bagvigil verify`: has anything in a job folder been changed since it was written."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import Any

from firmware_host.commands.voice import tell
from firmware_host.outputs.record_verify import find_changes, missing_head


def add(commands: Any) -> None:  # noqa: ANN401 - argparse's own type for this is private
    """Describe the command line."""
    parser = commands.add_parser(
        "verify",
        help="say what was changed in a job folder",
        description="Exit code 0 when nothing was changed, 1 when something was; it is named.",
    )
    parser.add_argument("folder", type=Path, metavar="FOLDER")
    parser.add_argument(
        "--head",
        metavar="SHA256",
        help="also look for this hash of the record, from its report or from the broker",
    )
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Check the folder."""
    changes = find_changes(args.folder)
    if args.head is not None:
        changes = (*changes, *missing_head(args.folder, args.head))
    for change in changes:
        tell(change)
    if not changes:
        tell(f"{args.folder}: nothing was changed.")
    return 1 if changes else 0
