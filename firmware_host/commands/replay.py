"""`bagvigil replay`: a log or a job folder through the same core as the daemon."""

from __future__ import annotations

import argparse
import shutil
import sys
from collections.abc import Iterable, Iterator
from contextlib import ExitStack, suppress
from datetime import UTC
from pathlib import Path
from types import TracebackType
from typing import Any, Self

import msgspec

from firmware_host.clock import SystemClock
from firmware_host.commands.progress import ProgressLine
from firmware_host.commands.voice import aside, tell
from firmware_host.config.load import load_bench, load_job
from firmware_host.core.answers import Json
from firmware_host.errors import InputError, RecordError
from firmware_host.inputs.csv_log import LogFile, open_log
from firmware_host.outputs.job_folder import create_job_folder, job_sha256
from firmware_host.outputs.record import RecordWriter
from firmware_host.outputs.record_reader import Record, open_record
from firmware_host.outputs.record_schema import Source, create_record, describe
from firmware_host.replay import (
    LogClock,
    Said,
    compare,
    gather,
    replay_log,
    replay_record,
    write_answers,
)
from firmware_host.version import VERSION

FLUSH_EVERY = 5000
FLUSH_WAIT_S = 60.0
SPEED = 60.0
"""An hour of waiting in a minute."""
HIGHEST_SPEED = 600.0


def add(commands: Any) -> None:  # noqa: ANN401 - argparse's own type for this is private
    """Describe the command line."""
    parser = commands.add_parser(
        "replay",
        help="take a recorded log or a job folder through the core again",
        description="Takes a CSV log, or a job folder, through the same core as the daemon. "
        "A job folder must say again exactly what was said then; exit code 1 if it does not.",
    )
    parser.add_argument("source", type=Path, metavar="LOG.csv|FOLDER")
    parser.add_argument("--job", type=Path, help="job description; a job folder has its own")
    parser.add_argument("--bench", type=Path, help="bench file, kept with the folder that is made")
    parser.add_argument("--json", type=Path, help="write the answers there", metavar="OUT.json")
    parser.add_argument("--folder", type=Path, help="make a job folder in there", metavar="OUT")
    parser.add_argument(
        "--panel", action="store_true", help="show a job folder on the panel, as training"
    )
    parser.add_argument(
        "--speed", type=float, metavar="N", help=f"with --panel: times the world's pace; {SPEED:g}"
    )
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Replay what was named."""
    source: Path = args.source
    if args.panel or args.speed is not None:
        return _shown(args)
    if source.is_dir() or source.suffix == ".sqlite":
        return _replay_record(args)
    return _replay_log(args)


def _replay_log(args: argparse.Namespace) -> int:
    if args.job is None:
        raise InputError([f"{args.source} is a log: name its job description with --job job.toml."])
    job = load_job(args.job)
    if args.bench is not None:
        load_bench(args.bench)
    log = open_log(args.source)
    with _progress("replaying") as progress, ExitStack() as opened:
        said: Iterable[Said] = replay_log(log, job, progress)
        if args.folder is not None:
            bench_text = args.bench.read_text(encoding="utf-8") if args.bench is not None else ""
            recorded = opened.enter_context(
                _Recorded(log, job.job.part, args.job.read_bytes(), bench_text, args.folder)
            )
            said = recorded.taking(said)
        document = gather(said)
    _give(document, args.json)
    return 0


def _replay_record(args: argparse.Namespace) -> int:
    if args.job is not None or args.folder is not None:
        raise InputError(
            ["A job folder brings its own job description: leave out --job, --folder."]
        )
    with open_record(args.source) as record:
        if args.json is not None:
            with _progress("replaying") as progress:
                document = gather(replay_record(record, progress))
            write_answers(args.json, document)
        return _held_against(record)


def _shown(args: argparse.Namespace) -> int:
    """Play a job folder to the panel."""
    speed = SPEED if args.speed is None else args.speed
    if not args.panel:
        raise InputError(["--speed is the pace of --panel: add it, or leave out --speed."])
    if not 1.0 <= speed <= HIGHEST_SPEED:
        raise InputError([f"--speed {speed:g} must be at least 1 and at most {HIGHEST_SPEED:g}."])
    if args.source.suffix.lower() == ".csv":
        raise InputError(
            [f"{args.source} is a log: make a job folder of it with --folder OUT, and show that."]
        )
    if not sys.stdout.isatty():
        raise InputError(["--panel needs a terminal. Without one, leave it out for the answers."])
    from firmware_host.training import show  # a plain replay serves no socket

    with open_record(args.source) as record:
        return show(record, speed, panel_command)


def panel_command(socket: Path) -> list[str]:
    """Give the command line of a panel at a socket."""
    return [sys.executable, "-m", "dashboard", "--socket", str(socket)]


def _held_against(record: Record) -> int:
    with _progress("comparing") as progress:
        result = compare(record, replay_record(record, progress))
    if not result.differences:
        tell(f"{result.events} events, the same as recorded.")
        return 0
    if record.meta.version != VERSION:
        aside(f"Recorded with version {record.meta.version}, replayed with {VERSION}.")
    for line in result.differences:
        tell(line)
    return 1


class _Recorded:
    """Writes a job folder as the words come by; a folder that is not finished is taken away."""

    def __init__(self, log: LogFile, part: str, job: bytes, bench_text: str, base: Path) -> None:
        now = SystemClock().wall()
        clock = LogClock(log.first_wall, now)
        began = log.first_wall or now.astimezone(UTC)
        self._folder = create_job_folder(base, part, began, job)
        meta = describe(
            clock,
            source=Source.LOG,
            version=VERSION,
            part=part,
            bench_text=bench_text,
            job_sha256=job_sha256(job),
            groups=(log.group,),
        )
        create_record(self._folder, meta)
        self._writer = RecordWriter(self._folder, clock, version=VERSION, zero_mono_s=0.0)

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        if error is None:
            self._writer.close(FLUSH_WAIT_S)
            aside(f"job folder {self._folder}")
            return
        with suppress(RecordError):
            self._writer.close(FLUSH_WAIT_S)
        shutil.rmtree(self._folder, ignore_errors=True)

    def taking(self, said: Iterable[Said]) -> Iterator[Said]:
        """Pass the words on, each once it is handed to the writer."""
        writer = self._writer
        for number, word in enumerate(said):
            if word.given is not None:
                writer.put(word.given, word.events)
            if number % FLUSH_EVERY == 0 and not writer.flush(FLUSH_WAIT_S):
                raise RecordError(f"{self._folder}: {writer.trouble or 'the disk does not follow'}")
            yield word


def _progress(what: str) -> ProgressLine:
    return ProgressLine(what, SystemClock(), sys.stderr)


def _give(document: Json, path: Path | None) -> None:
    if path is not None:
        write_answers(path, document)
        aside(f"answers in {path}")
        return
    tell(msgspec.json.format(msgspec.json.encode(document), indent=1).decode())
