"""One bit of a record turned over, anywhere: nothing false is told, and the rest is saved.

Each flip is held against the record as it was: what opens and verifies must say what it said. Each
salvage must give back what the damage did not touch: all rows but those of the page it struck.
"""

from __future__ import annotations

import random
import tempfile
from collections import Counter
from dataclasses import dataclass, field
from pathlib import Path

from firmware_host.errors import RecordError
from firmware_host.model.events import Event
from firmware_host.model.samples import Input, Mark, Unseen
from firmware_host.outputs.record_reader import open_record
from firmware_host.outputs.record_schema import JOB_NAME, RECORD_NAME
from firmware_host.outputs.record_verify import find_changes
from firmware_host.outputs.salvage import Salvage, salvage, write_salvage
from firmware_host.outputs.salvage_pages import PAGE_BYTES
from tests.bench.counts import Count, Counted
from tests.outputs.record_parts import (
    PATIENCE_S,
    RAW,
    closing_event,
    frame_at,
    make_folder,
    open_writer,
)

NAME = "record_bits"
FULL_FLIPS, SAMPLE_FLIPS = 10_000, 60
FULL_SALVAGES, SAMPLE_SALVAGES = 1_000, 4
FULL_FRAMES, SAMPLE_FRAMES = 400, 200
SALVAGE_FRAMES = 3_000
MEMORY_DISK = Path("/dev/shm")  # noqa: S108 - written and read thousands of times
LEAST_SAVED = 0.99
PAGE_SHARE = 0.5
"""Of the salvages, those of a record of which a whole page was overwritten; else one bit."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Told:
    """All that a record says."""

    inputs: list[Input]
    raws: list[str | None]
    events: list[Event]


@dataclass(slots=True)
class Tally:
    """What the damage did."""

    outcomes: Counter[str] = field(default_factory=Counter)
    silent: int = 0
    unsaid: int = 0
    """Ended by something that no person could read."""
    undamaged: int = 0
    saved: int = 0
    least: float = 1.0
    wrong: int = 0
    unsound: int = 0
    refused: int = 0
    first: str = ""


def run(seed: int, *, full: bool) -> Counted:
    """Turn bits over, then salvage."""
    rng, tally, place = random.Random(seed), Tally(), MEMORY_DISK
    with tempfile.TemporaryDirectory(dir=place if place.is_dir() else None) as base:
        small = _recorded(Path(base) / "small", FULL_FRAMES if full else SAMPLE_FRAMES)
        _flip(small, FULL_FLIPS if full else SAMPLE_FLIPS, rng, tally)
        large = _recorded(Path(base) / "large", SALVAGE_FRAMES)
        held, truth = (large / RECORD_NAME).read_bytes(), _told(large)
        for _ in range(FULL_SALVAGES if full else SAMPLE_SALVAGES):
            _salvage_once(large, held, truth, rng, tally)
    lines = [f"{what:<44}{times:>8}" for what, times in tally.outcomes.most_common()]
    lines += [f"first: {tally.first}"] if tally.first else []
    return Counted(
        name=NAME,
        counts=(
            Count(what="bits turned over", value=FULL_FLIPS if full else SAMPLE_FLIPS),
            Count(what="silently wrong", value=tally.silent, at_most=0),
            Count(what="ended without words of ours", value=tally.unsaid, at_most=0),
            Count(what="salvages", value=FULL_SALVAGES if full else SAMPLE_SALVAGES),
            Count(what="undamaged rows", value=tally.undamaged),
            Count(
                what="share of them saved",
                value=tally.saved / tally.undamaged,
                at_least=LEAST_SAVED,
            ),
            Count(what="the least of one salvage", value=tally.least, at_least=LEAST_SAVED),
            Count(what="salvages refused", value=tally.refused, at_most=0),
            Count(what="rows salvaged wrong", value=tally.wrong, at_most=0),
            Count(what="salvaged records that do not verify", value=tally.unsound, at_most=0),
        ),
        lines=tuple(lines),
    )


def _recorded(base: Path, frames: int) -> Path:
    folder = make_folder(base)
    writer = open_writer(folder)
    for number in range(1, frames + 1):
        writer.put(frame_at(number), raw=RAW, arrived_s=number / 2 + 0.012)
        if number % 100 == 0:
            moment_s = number / 2 + 0.1
            writer.put(Mark(moment_s, "valve_shut", moment_s), [closing_event(moment_s)])
    writer.close(PATIENCE_S)
    return folder


def _told(folder: Path) -> Told:
    with open_record(folder) as record:
        stored = list(record.stored_inputs())
        return Told(
            inputs=[one.given for one in stored],
            raws=[one.raw for one in stored],
            events=list(record.events()),
        )


def _flip(folder: Path, times: int, rng: random.Random, tally: Tally) -> None:
    path, sound, truth = folder / RECORD_NAME, (folder / RECORD_NAME).read_bytes(), _told(folder)
    for _ in range(times):
        place = rng.randrange(len(sound) * 8)
        held = bytearray(sound)
        held[place // 8] ^= 1 << place % 8
        path.write_bytes(held)
        outcome = _outcome(folder, truth)
        tally.outcomes[outcome] += 1
        tally.unsaid += outcome.startswith("NOT SAID")
        if outcome == "SILENTLY WRONG":
            tally.silent += 1
            tally.first = tally.first or f"bit {place}"
    path.write_bytes(sound)


def _outcome(folder: Path, truth: Told) -> str:
    try:
        if find_changes(folder):
            return "a change was named"
        told = _told(folder)
    except RecordError:
        return "refused, and why"
    except Exception as error:  # noqa: BLE001 - counted, each kind by its name
        return f"NOT SAID: {type(error).__name__}: {error}"
    return "as it was: the bit means nothing" if told == truth else "SILENTLY WRONG"


def _salvage_once(
    folder: Path, sound: bytes, truth: Told, rng: random.Random, tally: Tally
) -> None:
    base = folder.parent
    page = rng.randrange(len(sound) // PAGE_BYTES)
    held = bytearray(sound)
    if rng.random() < PAGE_SHARE:
        held[page * PAGE_BYTES : (page + 1) * PAGE_BYTES] = rng.randbytes(PAGE_BYTES)
        struck = _rows_on(sound, page)
    else:
        held[page * PAGE_BYTES + rng.randrange(PAGE_BYTES)] ^= 1 << rng.randrange(8)
        struck = 1
    broken = base / "broken.sqlite"
    broken.write_bytes(held)
    try:
        found = salvage(broken)
    except RecordError as error:
        tally.refused += 1
        tally.first = tally.first or str(error)
        return
    saved = len(found.inputs) + len(found.events)
    undamaged = len(truth.inputs) + len(truth.events) - struck
    tally.undamaged += undamaged
    tally.saved += min(saved, undamaged)
    tally.least = min(tally.least, saved / undamaged)
    tally.wrong += sum(truth.inputs[n - 1] != one.given for n, one in found.inputs.items())
    tally.wrong += sum(truth.events[n - 1] != event for n, (_, event) in found.events.items())
    if rng.random() < 0.05:
        _write(found, folder, base, tally)


def _rows_on(sound: bytes, page: int) -> int:
    """Count the rows on a leaf page; an inner page or one of a long cell has none of its own."""
    head = sound[page * PAGE_BYTES :]
    return int.from_bytes(head[3:5]) if head[0] == 0x0D else 0


def _write(found: Salvage, folder: Path, base: Path, tally: Tally) -> None:
    with tempfile.TemporaryDirectory(dir=base) as name:
        new = Path(name)
        (new / JOB_NAME).write_bytes((folder / JOB_NAME).read_bytes())
        write_salvage(found, new)
        told = _told(new)
        kept = [one for one in told.inputs if not isinstance(one, Unseen)]
        sound = find_changes(new) == () and kept == [one.given for one in found.inputs.values()]
        tally.unsound += not (sound and len(told.events) == len(found.events))
