"""The one command: `bagvigil`. Exit codes: 0 done, 1 failed, 2 usage or input, 3 try again later.

Sub-commands are loaded when they are asked for; no traceback reaches a person.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence
from importlib import import_module
from typing import Any, NoReturn

from firmware_host.commands.voice import aside, plain
from firmware_host.errors import MonitorError

COMMANDS = (
    "demo",
    "new",
    "plan",
    "watch",
    "mark",
    "shelve",
    "panel",
    "replay",
    "report",
    "export",
    "verify",
    "salvage",
    "amend",
    "jobs",
    "check",
    "calibrate",
)
FAILED, USAGE = 1, 2
INTERRUPTED = 3
"""Begun and not done: nothing failed, and it may be tried again."""
LISTENER_GONE = FAILED


def main(argv: Sequence[str] | None = None) -> int:
    """Run one sub-command and give its exit code."""
    given = list(sys.argv[1:] if argv is None else argv)
    try:
        args = _parser(given).parse_args(given)
        return int(args.run(args))
    except MonitorError as error:
        aside(str(error))
        return error.exit_code
    except KeyboardInterrupt:
        aside("Stopped before it was done; no file is left half written.")
        return INTERRUPTED
    except BrokenPipeError:
        sys.stderr.close()  # whoever read us has gone; Python would complain about the pipe
        return LISTENER_GONE
    except OSError as error:  # a name that the system itself refuses, a disk that is full
        aside(str(error) if error.filename is None else f"{error.filename}: {error.strerror}.")
        return FAILED if error.filename is None else USAGE


class _Parser(argparse.ArgumentParser):
    """Says back what was typed without what could steer the terminal."""

    def error(self, message: str) -> NoReturn:
        super().error(plain(message))


class _Version(argparse.Action):
    """Looks the version up only when asked: that costs as much as all else of a command's start."""

    def __call__(self, parser: argparse.ArgumentParser, *_: object) -> None:
        from firmware_host.version import VERSION

        parser.exit(0, f"bagvigil {VERSION}\n")


def _parser(given: Sequence[str]) -> _Parser:
    parser = _Parser(
        prog="bagvigil",
        description="Watches a vacuum-bagged hand lay-up: proves the bag, follows the cure, "
        "calls only when getting up helps. Records and warns; it is not a safety system.",
        epilog="exit codes: 0 done, 1 the job or the thing checked failed, 2 usage, config or "
        "input is wrong, 3 try again later",
    )
    parser.add_argument("--version", action=_Version, nargs=0, help="say the version and leave")
    commands: Any = parser.add_subparsers(metavar="COMMAND", required=True)
    asked = given[0] if given and given[0] in COMMANDS else None
    for name in COMMANDS if asked is None else (asked,):
        import_module(f"firmware_host.commands.{name}").add(commands)
    return parser
