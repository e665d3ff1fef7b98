"""`bagvigil demo`: a whole job on a simulated bench, in about a minute."""

from __future__ import annotations

import argparse
import tempfile
from pathlib import Path
from typing import Any

from firmware_host.commands.voice import aside, plain, tell
from firmware_host.demo import OVER, Stage, Story, running, snapshots
from firmware_host.errors import InputError

SCENARIOS = ("healthy", "leak", "cold")
RATES = {"healthy": 200.0, "leak": 200.0, "cold": 300.0}
"""Times real time: each job then takes about a minute."""


def add(commands: Any) -> None:  # noqa: ANN401 - argparse's own type for this is private
    """Describe the command line."""
    parser = commands.add_parser(
        "demo",
        help="watch a simulated job, no hardware needed",
        description="Simulated bench, pseudo-terminal, real daemon, record. All data is invented.",
    )
    parser.add_argument("--headless", action="store_true", help="tell the story in plain lines")
    parser.add_argument("--scenario", choices=SCENARIOS, default="healthy")
    parser.add_argument("--rate", type=float, help="times real time", metavar="N")
    parser.add_argument("--folder", type=Path, help="where to play; default: a new folder")
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Play the scenario to its end."""
    rate = args.rate if args.rate is not None else RATES[args.scenario]
    if not 1.0 <= rate <= 600.0:
        raise InputError([f"--rate {rate:g} must be at least 1 and at most 600."])
    folder = args.folder or Path(tempfile.mkdtemp(prefix="bagvigil-demo-"))
    stage = Stage(folder=folder.absolute(), scenario=args.scenario, rate=rate)
    tell(f"Scenario {args.scenario}, {rate:g} times as fast as the world. Invented data.")
    tell("Hours and minutes since mixing:")
    job_folder = _play(stage)
    tell("")
    tell(f"The job folder, with job.toml as poured and the record: {job_folder}")
    tell(f"Replay it: bagvigil replay {job_folder}")
    return 0


def _play(stage: Stage) -> str:
    story = Story(lambda line: tell(plain(line)))
    folder = ""
    with running(stage) as (_, daemon):
        for snapshot in snapshots(stage, daemon):
            folder = snapshot.folder
            story.take(snapshot.view)
            if snapshot.view.phase in OVER:
                break
        else:
            aside("The daemon ended before the job did.")
    return folder
