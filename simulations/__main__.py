"""`python -m simulations`: run a scenario over a pseudo terminal, or write its log.

On standard output comes, in this order: `device PATH`, then one JSON line for every event and
mark. Everything else goes to standard error.
"""

from __future__ import annotations

import argparse
import json
import signal
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import NoReturn

from firmware_host.clock import ScaledClock
from simulations.fault_words import help_text, with_faults
from simulations.faults import LINE
from simulations.files import bench_toml, job_toml
from simulations.link import PtyLink
from simulations.marks import MarkSender
from simulations.pacing import run
from simulations.rig import Happened, Marked, Rig
from simulations.scenario import Scenario, load, shipped_names
from simulations.tables import ScenarioError
from simulations.to_csv import record, write_csv, write_truth

EXIT_DONE, EXIT_FAILED, EXIT_USAGE = 0, 1, 2


def main(arguments: Sequence[str] | None = None) -> int:
    """Do what the command line says; its exit code."""
    given = _parser().parse_args(arguments)
    try:
        return _run(given)
    except ScenarioError as wrong:
        say(str(wrong))
        return EXIT_USAGE
    except KeyboardInterrupt:
        return EXIT_DONE
    except OSError as wrong:
        say(f"{wrong.filename or 'the simulated bench'}: {wrong.strerror or wrong}")
        return EXIT_FAILED


def say(text: str) -> None:
    """Tell the person who started it."""
    print(text, file=sys.stderr, flush=True)  # noqa: T201 - a command line speaks


def _run(given: argparse.Namespace) -> int:
    if given.list:
        for name in shipped_names():
            _out(f"{name:18} {load(name).head.about}")
        return EXIT_DONE
    if given.scenario is None:
        say(f"which scenario? One of {', '.join(shipped_names())}, or the path of a file")
        return EXIT_USAGE
    scenario = with_faults(load(given.scenario), given.fault)
    if given.print_job:
        _out(job_toml(scenario).rstrip())
    elif given.csv is not None:
        _refuse_line_faults(scenario)
        _write_log(scenario, given.csv, given.truth)
    elif given.link is not None:
        _run_link(scenario, given)
    else:
        say("say where to: --link PATH for a live bench, --csv FILE for a log")
        return EXIT_USAGE
    return EXIT_DONE


def _refuse_line_faults(scenario: Scenario) -> None:
    if any(fault.channel == LINE for fault in scenario.faults()):
        raise ScenarioError(["a log holds no serial line; faults of `line` need --link PATH"])


def _write_log(scenario: Scenario, csv_path: Path, truth_path: Path | None) -> None:
    with csv_path.open("w", encoding="utf-8", newline="") as out:
        log = record(scenario)
        write_csv(log, out)
    if truth_path is not None:
        write_truth(log.truth, truth_path)


def _run_link(scenario: Scenario, given: argparse.Namespace) -> None:
    clock = ScaledClock(given.rate)
    rig = Rig(scenario, period_s=given.period)
    link = PtyLink(given.link)
    marks = None
    if given.marks_socket is not None:
        marks = MarkSender(given.marks_socket, clock, say)
    try:
        if given.bench_file is not None:
            _write_bench(scenario, given)
        _out(f"device {given.link}")
        for thing in run(rig, link, clock, wait_for_host=given.wait):
            _report(thing)
            if marks is not None and isinstance(thing, Marked):
                marks.say(thing.name)
    finally:
        if marks is not None:
            marks.close()
        link.close()
    if given.truth is not None:
        write_truth(rig.truth.truth(), given.truth)


def _write_bench(scenario: Scenario, given: argparse.Namespace) -> None:
    socket = given.marks_socket.absolute() if given.marks_socket else Path("bagvigil.sock")
    text = bench_toml(scenario, given.link.absolute(), Path("jobs"), socket, given.period)
    given.bench_file.write_text(text, encoding="utf-8")


def _report(thing: Happened | Marked) -> None:
    at_s = round(thing.at_s, 3)
    if isinstance(thing, Marked):
        _out(json.dumps({"mark": thing.name, "at_s": at_s}))
    else:
        _out(json.dumps({"event": thing.name, "at_s": at_s, "detail": thing.detail}))


def _out(text: str) -> None:
    print(text, flush=True)  # noqa: T201 - a command line speaks


def _above_zero(text: str) -> float:
    number = float(text)
    if not 0.0 < number <= 10000.0:
        raise argparse.ArgumentTypeError(f"{text} must be above 0 and at most 10000")
    return number


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="python -m simulations",
        description="A simulated bench: bag, resin, sensors, board.",
        epilog=help_text(),
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument("scenario", nargs="?", help="a shipped scenario, or a .toml file")
    parser.add_argument("--list", action="store_true", help="name the shipped scenarios")
    parser.add_argument("--print-job", action="store_true", help="print its job description")
    parser.add_argument("--link", type=Path, metavar="PATH", help="run live; the port's path")
    parser.add_argument("--rate", type=_above_zero, default=1.0, help="times as fast as the world")
    parser.add_argument("--period", type=_above_zero, default=0.5, help="seconds between samples")
    parser.add_argument("--wait", action="store_true", help="begin when the host first speaks")
    parser.add_argument(
        "--marks-socket", type=Path, metavar="PATH", help="send the marks to this daemon"
    )
    parser.add_argument(
        "--bench-file", type=Path, metavar="FILE", help="write the matching bench file first"
    )
    parser.add_argument("--csv", type=Path, metavar="FILE", help="write the log and stop")
    parser.add_argument(
        "--fault", action="append", default=[], metavar="WORDS",
        help="let a channel go wrong, several times if need be; see below",
    )  # fmt: skip
    parser.add_argument("--truth", type=Path, metavar="FILE", help="write what really happened")
    return parser


def _leave(number: int, frame: object) -> NoReturn:  # noqa: ARG001 - as signal wants it
    """Go when asked to, but take the port's path away first."""
    raise KeyboardInterrupt


if __name__ == "__main__":
    signal.signal(signal.SIGTERM, _leave)
    sys.exit(main())
