"""Power lost at every step of a record's life: nothing that was promised is gone, nothing is false.

A job is written in several runs of the daemon under a shim that notes each write, sync and name.
For each cut a disk is laid out as it may then be, opened with the daemon's own reader, verified,
and now and then written on.
"""

from __future__ import annotations

import random
import shutil
import tempfile
from collections import Counter
from dataclasses import dataclass, field
from pathlib import Path

from firmware_host.errors import RecordError
from firmware_host.outputs.attachment import attachments
from firmware_host.outputs.record_reader import open_record
from firmware_host.outputs.record_verify import find_changes
from tests.bench.counts import Count, Counted
from tests.outputs.disk_child import SAID
from tests.outputs.disk_log import Disk, Fate, Op, record_disk
from tests.outputs.record_parts import PATIENCE_S, frame_at, open_writer

NAME = "record_power_cut"
FULL_CUTS, SAMPLE_CUTS = 20_000, 400
WRITE_ON_EVERY = 50
MEMORY_DISK = Path("/dev/shm")  # noqa: S108 - laid out and read thousands of times
"""Where it is there; what is tested is the order of writes, not this disk."""


@dataclass(slots=True)
class Tally:
    """What the cuts left."""

    cuts: Counter[Fate] = field(default_factory=Counter)
    unborn: int = 0
    """Cuts before the first promise: there may be no record yet."""
    lost: Counter[Fate] = field(default_factory=Counter)
    corrupt: Counter[Fate] = field(default_factory=Counter)
    written_on: int = 0
    first: str = ""
    """What went wrong first."""

    def blame(self, which: Counter[Fate], fate: Fate, at: int, what: str) -> None:
        """Count something that went wrong."""
        which[fate] += 1
        self.first = self.first or f"operation {at}, {fate}: {what}"


def run(seed: int, *, full: bool) -> Counted:
    """Cut at every operation several times, or at some of them."""
    tally, operations = cut_all("sound", FULL_CUTS if full else SAMPLE_CUTS, seed)
    lines = [f"{'unsynced writes':<18}{'cuts':>8}{'lost':>8}{'corrupt':>9}"]
    lines += [
        f"{fate:<18}{tally.cuts[fate]:>8}{tally.lost[fate]:>8}{tally.corrupt[fate]:>9}"
        for fate in Fate
    ]
    lines += [f"first: {tally.first}"] if tally.first else []
    born = tally.cuts.total() - tally.unborn
    return Counted(
        name=NAME,
        counts=(
            Count(what="operations of the disk", value=operations),
            Count(what="cuts", value=tally.cuts.total(), at_least=SAMPLE_CUTS),
            Count(what="of them before anything was promised", value=tally.unborn),
            Count(what="cuts that lost what was promised", value=tally.lost.total(), at_most=0),
            Count(what="records that were not sound", value=tally.corrupt.total(), at_most=0),
            Count(what="records written on afterwards", value=tally.written_on, at_least=1),
            Count(what="95 % bound of both, per cut", value=3.0 / max(born, 1)),
        ),
        lines=tuple(lines),
    )


def cut_all(how: str, cuts: int, seed: int) -> tuple[Tally, int]:
    """Record a job and cut it so many times, evenly over its operations."""
    rng, tally, place = random.Random(seed), Tally(), MEMORY_DISK
    with tempfile.TemporaryDirectory(dir=place if place.is_dir() else None) as base:
        operations = record_disk(Path(base), "tests.outputs.disk_child", how)
        at = Counter(rng.sample(range(len(operations)), min(cuts, len(operations))))
        at.update(rng.choices(range(len(operations)), k=cuts - at.total()))
        disk, promised = Disk(), ""
        for number, operation in enumerate(operations):
            promised = _follow(disk, operation) or promised
            for _ in range(at[number]):
                _cut(disk, Path(base) / "cut", promised, number, tally, rng)
    return tally, len(operations)


def _follow(disk: Disk, operation: Op) -> str:
    """Take one operation; give the promise that it was."""
    if operation.path == SAID:
        return operation.data.decode().strip()
    disk.take(operation)
    return ""


def _cut(
    disk: Disk, target: Path, promised: str, at: int, tally: Tally, rng: random.Random
) -> None:
    fate = rng.choice(list(Fate))
    shutil.rmtree(target, ignore_errors=True)
    target.mkdir()
    disk.cut(target, fate, rng)
    tally.cuts[fate] += 1
    if not promised:
        tally.unborn += 1
        return
    try:
        (folder,) = (target / "jobs").glob("*-1")
        missing = _missing(folder, promised)
        if missing:
            tally.blame(tally.lost, fate, at, missing)
        elif tally.cuts.total() % WRITE_ON_EVERY == 0:
            _write_on(folder)
            tally.written_on += 1
    except (RecordError, ValueError, AssertionError) as error:
        tally.blame(tally.corrupt, fate, at, str(error))


def _missing(folder: Path, promised: str) -> str:
    """Say what of the promised is not there; raises where what is there is not sound."""
    with open_record(folder) as record:
        record.job_toml()
        held = [stored.given for stored in record.stored_inputs()]
        pages = len(list(attachments(record)))
    assert held == [frame_at(number) for number in range(1, len(held) + 1)], "not what was put"
    changes = find_changes(folder)
    assert changes == (), changes
    if promised == "end":
        return "" if pages else "the page"
    return f"{promised} stored, {len(held)} there" if len(held) < int(promised) else ""


def _write_on(folder: Path) -> None:
    with open_record(folder) as record:
        count = record.last_input
    writer = open_writer(folder)
    writer.put(frame_at(count + 1))
    writer.close(PATIENCE_S)
    changes = find_changes(folder)
    assert changes == (), changes
    with open_record(folder) as record:
        assert record.last_input == count + 1
