"""`bagvigil demo`: a whole job on a simulated bench, in about a minute."""

from __future__ import annotations

import argparse
import subprocess
import sys
import tempfile
from pathlib import Path
from typing import Any

from firmware_host.commands.voice import aside, tell
from firmware_host.demo import OVER, Stage, Story, running, snapshots
from firmware_host.errors import InputError

SCENARIOS = ("healthy", "leak", "cold", "epoxy")
RATES = {"healthy": 200.0, "leak": 200.0, "cold": 300.0, "epoxy": 300.0}
"""Times real time: each job then takes about a minute."""
LAST_LOOK_S = 1.2
"""Real time in which the closed job is still shown."""


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
    """Play the scenario to its end, on the panel in a terminal and as a story elsewhere."""
    rate = args.rate if args.rate is not None else RATES[args.scenario]
    if not 1.0 <= rate <= 600.0:
        raise InputError([f"--rate {rate:g} must be at least 1 and at most 600."])
    folder = args.folder or Path(tempfile.mkdtemp(prefix="bagvigil-demo-"))
    stage = Stage(folder=folder.absolute(), scenario=args.scenario, rate=rate)
    tell(f"Scenario {args.scenario}, {rate:g} times as fast as the world. Invented data.")
    if args.headless or not sys.stdout.isatty():
        tell("Hours and minutes since mixing:")
        job_folder = _told(stage)
    else:
        job_folder = _shown(stage)
    tell("")
    tell(f"The job folder, with job.toml as poured and the record: {job_folder}")
    _report(job_folder)
    tell(f"Replay it: bagvigil replay {job_folder}")
    return 0


def _told(stage: Stage) -> str:
    story = Story(tell)
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


def _shown(stage: Stage) -> str:
    """Let the panel have the terminal until the job is over or the person has seen enough."""
    folder = ""
    with running(stage) as (_, daemon):
        panel: subprocess.Popen[bytes] | None = None
        try:
            for snapshot in snapshots(stage, daemon):
                folder = snapshot.folder
                if panel is None:
                    command = [sys.executable, "-m", "dashboard", "--socket", str(stage.socket)]
                    panel = subprocess.Popen(command)
                if panel.poll() is not None or snapshot.view.phase in OVER:
                    break
        finally:
            _leave(panel)
    return folder


def _leave(panel: subprocess.Popen[bytes] | None) -> None:
    if panel is None:
        return
    try:
        panel.wait(LAST_LOOK_S)
    except subprocess.TimeoutExpired:
        panel.terminate()
        panel.wait()


def _report(job_folder: str) -> None:
    """Make the page in a process of its own, as the daemon does."""
    command = [sys.executable, "-m", "firmware_host", "report", job_folder]
    if subprocess.run(command, check=False, stdout=subprocess.DEVNULL).returncode == 0:
        tell(f"The report: {job_folder}/report.html")
