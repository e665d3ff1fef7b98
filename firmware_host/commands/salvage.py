"""`bagvigil salvage`: what is sound in a damaged record, in a folder of its own."""

from __future__ import annotations

import argparse
import shutil
from pathlib import Path
from typing import Any

from firmware_host.commands.voice import aside, tell
from firmware_host.errors import InputError
from firmware_host.outputs.job_folder import job_sha256
from firmware_host.outputs.record_schema import JOB_NAME, RECORD_NAME
from firmware_host.outputs.salvage import Salvage, salvage, write_salvage
from firmware_host.outputs.seal import seal

MOST_NAMED = 20


def add(commands: Any) -> None:  # noqa: ANN401 - argparse's own type for this is private
    """Describe the command line."""
    parser = commands.add_parser(
        "salvage",
        help="save what is sound in a damaged record into a folder of its own",
        description="Reads a damaged record row by row and writes what is proven sound into a new "
        "folder. The damaged one is only read. Exit code 0 when nothing is lost, 1 when something "
        "is; it is named.",
    )
    parser.add_argument("folder", type=Path, metavar="FOLDER")
    parser.add_argument(
        "--into", type=Path, metavar="NEW", help="a folder that is not there yet, to be made"
    )
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Salvage the folder's record."""
    found = salvage(args.folder / RECORD_NAME)
    folder = args.into or _beside(args.folder)
    try:
        folder.mkdir(mode=0o750)
    except OSError as error:
        raise InputError([f"{folder} cannot be made: {error.strerror}. Name a new one."]) from error
    try:
        _take_job(args.folder / JOB_NAME, folder / JOB_NAME, found)
        write_salvage(found, folder)
        seal(folder)
    except BaseException:
        shutil.rmtree(folder, ignore_errors=True)
        raise
    tell(str(folder))
    return _tell_losses(found)


def _beside(folder: Path) -> Path:
    number = 1
    while (place := folder.with_name(f"{folder.absolute().name}-salvaged-{number}")).exists():
        number += 1
    return place


def _take_job(old: Path, new: Path, found: Salvage) -> None:
    if old.is_file():
        text = old.read_bytes()
        new.write_bytes(text)
        if job_sha256(text) == found.meta.job_sha256:
            return
    aside(f"{old} is not the text that was poured: put the right one into {new.parent}.")


def _tell_losses(found: Salvage) -> int:
    holes = found.holes()
    lost = sum(hole.last - hole.first + 1 for hole in holes)
    aside(f"{len(found.inputs)} inputs and {len(found.events)} events are sound, {lost} are lost.")
    for hole in holes[:MOST_NAMED]:
        aside(str(hole))
    if len(holes) > MOST_NAMED:
        aside(f"and {len(holes) - MOST_NAMED} more holes.")
    return 1 if holes else 0
