"""`bagvigil watch`: the daemon."""

from __future__ import annotations

import argparse
import logging
import signal
import sys
import threading
from pathlib import Path
from types import FrameType
from typing import Any

from firmware_host.app import run_watch
from firmware_host.clock import Clock, ScaledClock, SystemClock
from firmware_host.commands.voice import plain, tell
from firmware_host.errors import InputError, TakeUpError
from firmware_host.place import read_watch

HIGHEST_RATE = 1000.0
BEGINS_ANEW = (
    "A new job begins now, without what was marked before: mark it again with --ago. What is sound "
    "in the old record is saved by `bagvigil salvage`."
)
_LOG = logging.getLogger(__name__)


def add(commands: Any) -> None:  # noqa: ANN401 - argparse's own type for this is private
    """Describe the command line."""
    parser = commands.add_parser(
        "watch",
        help="watch a job: the daemon",
        description="Prints the job folder's path, then watches until it is stopped. Started again "
        "with the same files within 12 h, it goes on with the same job.",
    )
    parser.add_argument("--bench", type=Path, required=True, help="bench file")
    parser.add_argument("--job", type=Path, required=True, help="job description")
    parser.add_argument(
        "--new-job", action="store_true", help="begin a new job, even if one was cut off"
    )
    parser.add_argument(
        "--clock-rate",
        type=float,
        default=1.0,
        help="run this many times as fast as the world; for a simulated bench only",
    )
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Watch until SIGTERM or SIGINT."""
    _log_to_stderr()
    if not 0.0 < args.clock_rate <= HIGHEST_RATE:
        raise InputError(
            [f"--clock-rate {args.clock_rate} must be above 0 and at most {HIGHEST_RATE:.0f}."]
        )
    # The second is for a start anew, where the job that was cut off cannot be gone on with.
    stops = threading.Event(), threading.Event()
    heard: list[int] = []

    def on_signal(number: int, frame: FrameType | None) -> None:
        del frame
        # A second signal may interrupt the first one's `set`, which holds a lock: one that comes
        # after the noting does not set. One that comes before it does, and is then done with it.
        is_first = not heard
        heard.append(number)
        if is_first:
            for stop in stops:
                stop.set()

    for name in (signal.SIGTERM, signal.SIGINT):
        signal.signal(name, on_signal)
    watch, clock = read_watch(args.bench, args.job), _clock(args.clock_rate)
    try:
        run_watch(watch, clock, stops[0], _tell_folder, fresh=args.new_job)
    except TakeUpError as error:
        # A bench that nobody watches is worse than a job in two folders.
        _LOG.error("%s %s", error, BEGINS_ANEW)
        run_watch(watch, clock, stops[1], _tell_folder, fresh=True)
    return 0


def _tell_folder(folder: Path) -> None:
    tell(str(folder))


class _Plain(logging.Formatter):
    """A port's or a broker's own words never steer the terminal that the daemon runs on."""

    def format(self, record: logging.LogRecord) -> str:
        return plain(super().format(record))


def _log_to_stderr() -> None:
    handler = logging.StreamHandler(sys.stderr)
    handler.setFormatter(_Plain("%(levelname)s %(name)s: %(message)s"))
    logging.basicConfig(level=logging.INFO, handlers=[handler])


def _clock(rate: float) -> Clock:
    return SystemClock() if rate == 1.0 else ScaledClock(rate)
