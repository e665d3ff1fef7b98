"""`bagvigil shelve`: put an alarm aside for a while; it comes back by itself."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import Any

from firmware_host.commands.durations import seconds_of
from firmware_host.commands.socket_place import socket_path
from firmware_host.commands.voice import aside, one_line, tell
from firmware_host.errors import InputError
from firmware_host.inputs.socket_client import ask_snapshot, send_shelve
from firmware_host.model.commands import LONGEST_SHELF_S, SHORTEST_SHELF_S, ShelveCommand
from firmware_host.model.events import AlarmState
from firmware_host.model.snapshot import AlarmView

BY = "command line"


def add(commands: Any) -> None:  # noqa: ANN401 - argparse's own type for this is private
    """Describe the command line."""
    parser = commands.add_parser(
        "shelve",
        help="put an alarm aside for a while",
        description="A shelved alarm neither sounds nor calls, whatever its cause does, and comes "
        "back by itself. Only for one that you know and are mending; watch its cause yourself.",
    )
    parser.add_argument("alarm", metavar="ALARM", help="as on the panel: vacuum_lost, part2")
    parser.add_argument("--for", dest="span", default="15m", help="how long; 1m to 1h; 15m")
    parser.add_argument("--reason", required=True, help="why; the record keeps it")
    parser.add_argument("--bench", type=Path, help="bench file, to find the daemon's socket")
    parser.add_argument("--socket", type=Path, help="the daemon's socket itself")
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Find the alarm, put it aside, and say what became of it."""
    for_s = seconds_of(args.span)
    if not SHORTEST_SHELF_S <= for_s <= LONGEST_SHELF_S:
        low, high = SHORTEST_SHELF_S / 60.0, LONGEST_SHELF_S / 60.0
        raise InputError(
            [f"--for {args.span} must be at least {low:.0f}m and at most {high:.0f}m."]
        )
    if not args.reason.strip():
        raise InputError(["--reason is empty: the record keeps why."])
    socket = socket_path(args.socket, args.bench)
    alarm = the_one(ask_snapshot(socket).view.alarms, args.alarm)
    command = ShelveCommand(id=alarm.id, by=BY, for_s=for_s, why=args.reason.strip()[:200])
    answer = send_shelve(socket, command)
    (tell if answer.ok else aside)(one_line(answer.text))
    return 0 if answer.ok else 1


def the_one(alarms: tuple[AlarmView, ...], named: str) -> AlarmView:
    """Find the alarm that is meant: by name, channel, both with a slash, or id.

    Raises InputError where none is, or more than one.
    """
    wanted = named.strip().replace(" ", "_")
    open_ones = [alarm for alarm in alarms if alarm.state is not AlarmState.SHELVED]
    fit = [
        alarm
        for alarm in open_ones
        if wanted in (alarm.id, alarm.name, alarm.channel, f"{alarm.name}/{alarm.channel}")
    ]
    if len(fit) == 1:
        return fit[0]
    names = ", ".join(sorted(_name(alarm) for alarm in (fit or open_ones)))
    if fit:
        raise InputError([f"{named!r} fits more than one alarm. Name one of {names}."])
    there = f"There are {names}." if names else "There is none."
    raise InputError([f"no alarm {named!r} that could be put aside. {there}"])


def _name(alarm: AlarmView) -> str:
    return alarm.name if alarm.channel is None else f"{alarm.name}/{alarm.channel}"
