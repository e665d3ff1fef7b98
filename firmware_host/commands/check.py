"""`bagvigil check`: is the bench fit for a job. One line for each thing, with the next step."""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

from firmware_host.channels.bench_check import (
    Finding,
    HeardPort,
    Level,
    Measured,
    judge_couples,
    judge_port,
    judge_room,
    measure,
)
from firmware_host.clock import Clock, SystemClock
from firmware_host.commands.voice import aside, plain, tell
from firmware_host.config.load import load_bench
from firmware_host.config.schema import Bench
from firmware_host.errors import BusyError, InputError
from firmware_host.inputs.buses import Buses, SystemBuses
from firmware_host.inputs.listening import listen
from firmware_host.outputs.whole_file import write_whole

LEAST_S, MOST_S = 1.0, 600.0


def add(commands: Any) -> None:  # noqa: ANN401 - argparse's own type for this is private
    """Describe the command line."""
    parser = commands.add_parser(
        "check",
        help="check the bench before a job",
        description="Listens to every port, compares gauges with the room and couples with each "
        "other, and sends a test notice. Exit code 0 when nothing failed, 1 when something did, 3 "
        "when a port is held by another program.",
    )
    parser.add_argument("--bench", type=Path, required=True, help="bench file")
    parser.add_argument("--seconds", type=float, default=10.0, help="how long to listen")
    parser.add_argument("--json", action="store_true", help="findings for a machine")
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Check the bench with the real clock and the real buses."""
    if not LEAST_S <= args.seconds <= MOST_S:
        raise InputError(
            [f"--seconds {args.seconds:g} must be at least {LEAST_S:g} and at most {MOST_S:g}."]
        )
    return check(args.bench, args.seconds, SystemClock(), as_json=args.json)


def check(
    path: Path,
    span_s: float,
    clock: Clock,
    *,
    as_json: bool = False,
    buses: Callable[[], Buses] = SystemBuses,
) -> int:
    """Check, say it, and keep what was measured beside the bench file."""
    bench = load_bench(path)
    aside(f"Listening for {span_s:g} s. Leave every gauge open and every couple in the shop.")
    heard = listen(bench, clock, span_s, buses)
    measured = [one for port in heard for one in measure(port)]
    findings = [*_of_ports(heard), *judge_room(measured), *judge_couples(measured)]
    findings += _of_signals(bench)
    findings.append(_of_broker(bench, path, clock))
    kept = _kept(bench, clock, findings, measured)
    if as_json:
        tell(json.dumps(kept))
    else:
        for one in findings:
            tell(plain(f"{one.level:5}  {one.what}: {one.text}"))
    place = path.with_suffix(".check.json")
    write_whole(place, json.dumps(kept, indent=1).encode())
    aside(f"Kept in {place}.")
    if any(port.is_busy for port in heard):
        return BusyError.exit_code
    return 1 if any(one.level is Level.FAIL for one in findings) else 0


def _of_ports(heard: Sequence[HeardPort]) -> list[Finding]:
    if not heard:
        text = "no channel hangs on any port; nothing is measured. Name one in the bench file."
        return [Finding(level=Level.DOUBT, what="ports", text=text)]
    return [finding for port in heard for finding in judge_port(port)]


def _of_signals(bench: Bench) -> list[Finding]:
    if bench.signals is None:
        text = "none in the bench file: alarms are shown and sent only. Add [signals] to hear them."
        return [Finding(level=Level.DOUBT, what="signals", text=text)]
    # As in the daemon: a bench without [signals] never loads their library.
    from firmware_host.commands.check_signals import try_signals

    return try_signals(bench.signals, _ask)


def _ask(question: str) -> bool | None:
    """Put a question to a person at a terminal; None where there is none."""
    if not sys.stdin.isatty():
        return None
    aside(f"{question} [y/n]")
    return sys.stdin.readline().strip().lower().startswith("y")


def _of_broker(bench: Bench, path: Path, clock: Clock) -> Finding:
    if bench.mqtt is None:
        text = "none in the bench file: no phone will be told. Add [mqtt], or stay within earshot."
        return Finding(level=Level.DOUBT, what="broker", text=text)
    # As in the daemon: a bench without [mqtt] never loads the client library.
    from firmware_host.outputs.mqtt_login import login_of
    from firmware_host.outputs.mqtt_trial import send_trial

    login = login_of(bench, bench.mqtt, lambda name: path.parent / name)
    why = send_trial(login, clock)
    if why:
        text = f"{login.where} did not take the test notice: {why}. See [mqtt] in the bench file."
        return Finding(level=Level.FAIL, what="broker", text=text)
    text = f"{login.where} took the test notice. Look whether the phone shows it."
    return Finding(level=Level.OK, what="broker", text=text)


def _kept(
    bench: Bench, clock: Clock, findings: Sequence[Finding], measured: Sequence[Measured]
) -> dict[str, Any]:
    return {
        "schema": 1,
        "bench": bench.bench.name,
        "date": clock.wall().isoformat(timespec="seconds"),
        "findings": [
            {"level": str(one.level), "what": one.what, "text": one.text} for one in findings
        ],
        "channels": [
            {
                "name": one.channel.name,
                "unit": "Pa" if one.channel.role.quantity.value == "pressure" else "K",
                "mean": round(one.mean, 3),
                "noise": round(one.noise, 4),
                "step": None if one.step is None else round(one.step, 4),
            }
            for one in measured
        ],
    }
