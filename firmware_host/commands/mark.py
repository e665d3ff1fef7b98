"""`bagvigil mark`: tell the daemon what was just done, or what was done two minutes ago."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import Any

from firmware_host.commands.durations import seconds_of
from firmware_host.commands.socket_place import socket_path
from firmware_host.commands.voice import aside, one_line, tell
from firmware_host.errors import InputError
from firmware_host.inputs.socket_client import send_mark
from firmware_host.model.commands import LONGEST_AGO_S, MarkCommand
from firmware_host.model.samples import MARKS

ABANDONED = "abandoned"


def add(commands: Any) -> None:  # noqa: ANN401 - argparse's own type for this is private
    """Describe the command line."""
    parser = commands.add_parser(
        "mark",
        help="tell the daemon what you did",
        description="Marks: " + ", ".join((*MARKS, ABANDONED)) + ".",
    )
    parser.add_argument("name", choices=(*MARKS, ABANDONED), metavar="NAME")
    parser.add_argument("--ago", default="0s", help="how long ago, as 90s, 2m, 2m30s, 1h")
    parser.add_argument("--note", default="", help="a line for the record")
    parser.add_argument("--reason", default="", help="why; needed with abandoned")
    parser.add_argument("--bench", type=Path, help="bench file, to find the daemon's socket")
    parser.add_argument("--socket", type=Path, help="the daemon's socket itself")
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Send the mark and say what became of it."""
    ago_s = seconds_of(args.ago)
    if ago_s > LONGEST_AGO_S:
        hours = LONGEST_AGO_S / 3600.0
        raise InputError([f"--ago {args.ago} is longer than {hours:.0f} h. Put it in a --note."])
    if args.name == ABANDONED and not args.reason.strip():
        raise InputError(["abandoned needs --reason TEXT: the record keeps why."])
    command = MarkCommand(name=args.name, ago_s=ago_s, note=args.reason or args.note)
    answer = send_mark(socket_path(args.socket, args.bench), command)
    (tell if answer.ok else aside)(one_line(f"{args.name}: {answer.text or 'noted'}"))
    return 0 if answer.ok else 1
