"""`bagvigil panel`: the dashboard, as a process of its own that watching never waits for."""

from __future__ import annotations

import argparse
import os
import sys
from pathlib import Path
from typing import Any

from firmware_host.commands.socket_place import socket_path


def add(commands: Any) -> None:  # noqa: ANN401 - argparse's own type for this is private
    """Describe the command line."""
    parser = commands.add_parser("panel", help="show what the daemon knows")
    parser.add_argument("--bench", type=Path, help="bench file, to find the daemon's socket")
    parser.add_argument("--socket", type=Path, help="the daemon's socket itself")
    parser.add_argument("--once", action="store_true", help="print the screen as text and leave")
    parser.add_argument("--svg", type=Path, metavar="FILE", help="write a picture and leave")
    parser.add_argument("--ascii", action="store_true", help="plain 7-bit characters only")
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Become the panel: its exit code, its terminal and its signals are then the command's own."""
    command = [sys.executable, "-m", "dashboard"]
    command += ["--socket", str(socket_path(args.socket, args.bench))]
    command += ["--once"] if args.once else []
    command += ["--svg", str(args.svg)] if args.svg is not None else []
    command += ["--ascii"] if args.ascii else []
    os.execv(sys.executable, command)
