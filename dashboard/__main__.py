"""`python -m dashboard`: the panel, or its screen as text or as a picture.

Exit codes: 0 done, 2 usage or a terminal that cannot draw, 3 no daemon answers.
"""

from __future__ import annotations

import argparse
import asyncio
import gc
import os
import sys
from collections.abc import Sequence
from pathlib import Path

from dashboard.client import Client, NotAnsweredError
from dashboard.plain import plain
from firmware_host.clock import SystemClock

DONE, USAGE, TRY_AGAIN = 0, 2, 3


def main(argv: Sequence[str] | None = None) -> int:
    """Run the panel and give its exit code."""
    args = _parser().parse_args(argv)
    ascii_only = args.ascii or not _speaks_unicode()
    try:
        if args.once:
            sys.stdout.write(asyncio.run(_once(args.socket, ascii_only=ascii_only)))
        elif args.svg is not None:
            return _picture(args.socket, args.svg, ascii_only=ascii_only)
        else:
            return _live(args.socket, ascii_only=ascii_only)
    except OSError as error:
        _aside(str(error))
        return TRY_AGAIN
    except KeyboardInterrupt:
        return DONE
    return DONE


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="bagvigil panel",
        description="Shows what the daemon knows. Watching goes on without it.",
    )
    parser.add_argument("--socket", type=Path, required=True, help="the daemon's socket")
    parser.add_argument("--once", action="store_true", help="print the screen as text and leave")
    parser.add_argument("--svg", type=Path, metavar="FILE", help="write a picture and leave")
    parser.add_argument("--ascii", action="store_true", help="plain 7-bit characters only")
    return parser


def _speaks_unicode() -> bool:
    return (sys.stdout.encoding or "").lower().replace("-", "") == "utf8"


async def _once(socket: Path, *, ascii_only: bool) -> str:
    from dashboard.once import as_text

    client = Client(socket, SystemClock())
    snapshot = await client.snapshot()
    try:
        trend = await client.trend()
    except NotAnsweredError:
        trend = None  # the numbers of now are worth more than an error about the past
    return as_text(snapshot, trend, ascii_only=ascii_only)


def _live(socket: Path, *, ascii_only: bool) -> int:
    if os.environ.get("TERM", "") in ("", "dumb") or not sys.stdout.isatty():
        _aside("This terminal cannot draw the panel. Ask for text with --once.")
        return USAGE
    _aside("bagvigil panel is starting")  # the libraries take seconds to load on a small board
    from dashboard.app import Panel

    gc.freeze()  # what the libraries brought stays; looking through it again costs a look's time
    clock = SystemClock()
    panel = Panel(Client(socket, clock), clock, ascii_only=ascii_only, terminal=sys.stdin.fileno())
    panel.run(mouse=False)
    return panel.return_code or DONE


def _picture(socket: Path, file: Path, *, ascii_only: bool) -> int:
    from dashboard.picture import picture_of

    file.write_text(asyncio.run(picture_of(socket, ascii_only=ascii_only)), encoding="utf-8")
    return DONE


def _aside(text: str) -> None:
    sys.stderr.write(plain(text) + "\n")
    sys.stderr.flush()


if __name__ == "__main__":
    sys.exit(main())
