"""The README's two pictures, drawn by the program itself: `python -m tests.pictures` remakes them.

Both show the shipped healthy job: the panel in the middle of the drop test, as `bagvigil panel
--svg` draws it, and the chart of the page that `bagvigil report` leaves.
"""

from __future__ import annotations

import csv
import re
import subprocess
import sys
from contextlib import closing
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from tempfile import TemporaryDirectory

from firmware_host.clock import ManualClock
from firmware_host.model.snapshot import LinkView
from firmware_host.outputs.status_socket import Asked, StatusSocket
from simulations.files import job_toml
from simulations.scenario import load
from simulations.to_csv import Log, record
from tests.bench.feed import Feed, Judge
from tests.dashboard.parts import SNAPSHOT

PICTURES = Path(__file__).parent.parent / "dashboard" / "pictures"
PANEL, REPORT = PICTURES / "panel.svg", PICTURES / "report.svg"
SCENARIO = "healthy"
MOMENT_S = 2400.0
"""The valve has been shut for four minutes."""
SAMPLE_S = 0.9
ROW_S = 10.0
POURED = datetime(2026, 3, 1, 8, 0, tzinfo=UTC)
COLUMNS = ("bag:Pa", "part1:degC", "shop:degC", "mark")
"""Enough for a picture that loads fast."""
NAMES = 'xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink"'
PAPER = '<rect width="100%" height="100%" fill="#fff"/>'


def panel_picture(folder: Path) -> str:
    """Bring the job to its moment, serve that, and have the panel draw it."""
    scenario = load(SCENARIO)
    feed, judge = Feed(scenario), Judge(scenario)
    judge.take(feed.until(MOMENT_S, SAMPLE_S))
    board = LinkView(name="board", up=True, text="", frames=2667, damaged=0, lost=0)
    snapshot = replace(SNAPSHOT, view=judge.monitor.view(), links=(board,))
    trend = judge.monitor.trend()

    def answer(asked: Asked) -> bool:
        socket.answer(asked.token, trend)
        return True

    socket = StatusSocket(folder / "s.sock", ManualClock(), answer, lambda *_: None)
    socket.start()
    with closing(socket):
        socket.publish(snapshot)
        _bagvigil("panel", "--socket", folder / "s.sock", "--svg", folder / "panel.svg")
    return (folder / "panel.svg").read_text(encoding="utf-8")


def report_picture(folder: Path) -> str:
    """Replay the job's log into a folder, make its page, and take the chart out of it."""
    scenario = load(SCENARIO)
    (folder / "job.toml").write_text(job_toml(scenario), encoding="utf-8")
    _write(record(scenario, row_period_s=ROW_S), folder / "log.csv")
    _bagvigil("replay", folder / "log.csv", "--job", folder / "job.toml",
              "--folder", folder / "jobs", "--json", folder / "answers.json")  # fmt: skip
    (job_folder,) = (folder / "jobs").iterdir()
    _bagvigil("report", job_folder)
    page = (job_folder / "report.html").read_text(encoding="utf-8")
    return standing_alone(page)


def standing_alone(page: str) -> str:
    """Take a page's first chart, as a file that a browser shows by itself, on white paper."""
    start = page.index("<svg ")
    chart = page[start : page.index("</svg>", start) + len("</svg>")]
    chart = chart.replace("<svg ", f"<svg {NAMES} ", 1)
    return re.sub(r"(<svg [^>]*>)", rf"\1{PAPER}", chart, count=1) + "\n"


def _write(log: Log, path: Path) -> None:
    """Write the columns that are wanted; with dates, so that no clock of today is drawn."""
    places = [log.header.index(name) for name in COLUMNS]
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file)
        writer.writerow(["time", *COLUMNS])
        for time_s, *row in log.rows:
            wall = POURED + timedelta(seconds=float(time_s))
            writer.writerow([wall.isoformat(), *(row[place - 1] for place in places)])


def _bagvigil(*words: object) -> None:
    command = [sys.executable, "-m", "firmware_host", *map(str, words)]
    subprocess.run(command, check=True, capture_output=True)


def main() -> None:
    """Remake both."""
    PICTURES.mkdir(exist_ok=True)
    with TemporaryDirectory(prefix="bv-") as name:
        PANEL.write_text(panel_picture(Path(name)), encoding="utf-8")
        REPORT.write_text(report_picture(Path(name)), encoding="utf-8")


if __name__ == "__main__":
    main()
