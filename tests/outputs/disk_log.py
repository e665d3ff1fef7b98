"""A disk that lost its power: what may lie on it at any moment of a process's life.

`record_disk` runs a program under `disk_shim.c` and keeps the order of its writes. `Disk` follows
that order. What was synced is there; of what was not, some, all, none, or torn sectors. A name is
there once its folder was synced, before that perhaps, in the order in which names were made.
"""

from __future__ import annotations

import os
import random
import shutil
import subprocess
import sys
import unittest
from collections.abc import Iterator
from dataclasses import dataclass, field
from enum import StrEnum
from pathlib import Path

SHIM = Path(__file__).with_name("disk_shim.c")
SECTOR_BYTES = 512
PATIENCE_S = 120.0


class Fate(StrEnum):
    """What became of the writes that nobody had synced."""

    NONE = "none"
    ALL = "all"
    SOME = "some"
    TORN = "torn"


@dataclass(frozen=True, slots=True)
class Op:
    """One thing that was asked of the disk: see the letters in `disk_shim.c`."""

    letter: str
    path: str
    at: int
    data: bytes


@dataclass(slots=True)
class _File:
    """What is certainly on the disk, and what was asked for since."""

    synced: bytearray = field(default_factory=bytearray)
    pending: list[Op] = field(default_factory=list)


def build_shim(folder: Path, source: Path = SHIM) -> Path:
    """Compile the shim; skips the test where nothing can."""
    compiler = shutil.which("gcc")
    if compiler is None:
        raise unittest.SkipTest("gcc is missing, and with it the disk that loses its power")
    target = folder / f"{source.stem}.so"
    flags = ["-O1", "-shared", "-fPIC", "-Wall", "-Wextra", "-Werror"]
    subprocess.run([compiler, *flags, "-o", str(target), str(source)], check=True)
    return target


def record_disk(base: Path, *words: str) -> list[Op]:
    """Run `python -m WORDS DISK` and give what it asked of the disk."""
    shim, disk, log = build_shim(base), base / "disk", base / "disk.log"
    disk.mkdir()
    env = {
        **os.environ,
        "LD_PRELOAD": str(shim),
        "BAGVIGIL_DISK": str(disk),
        "BAGVIGIL_DISK_LOG": str(log),
    }
    subprocess.run(
        [sys.executable, "-m", *words, str(disk)], env=env, check=True, timeout=PATIENCE_S
    )
    return list(_read(log.read_bytes(), str(disk)))


def _read(log: bytes, disk: str) -> Iterator[Op]:
    at = 0
    while at < len(log):
        end = log.index(b"\n", at)
        letter, path, where, size = log[at:end].decode().split("\t")
        data = log[end + 1 : end + 1 + int(size)]
        at = end + 1 + len(data)
        if letter == "r":
            data = data.decode().removeprefix(disk).strip("/").encode()
        yield Op(letter, path.removeprefix(disk).strip("/"), int(where), data)


class Disk:
    """Follows the operations one by one; `cut` lays out what a loss of power may leave."""

    def __init__(self) -> None:
        self._names: dict[str, _File | None] = {}
        """As the process sees them; None for a folder."""
        self._synced: dict[str, _File | None] = {}
        self._pending: list[tuple[str, str, _File | None]] = []
        """Names given and taken since their folder was synced."""

    def take(self, op: Op) -> None:
        """Follow one operation."""
        held = self._names.get(op.path)
        match op.letter:
            case "c":
                self._name(op.path, _File())
            case "m":
                self._name(op.path, None)
            case "u":
                self._forget(op.path)
            case "r":
                self._name(op.data.decode(), held)
                self._forget(op.path)
            case "s":
                self._sync(op.path, held)
            case _ if held is not None:
                held.pending.append(op)
            case _:
                raise ValueError(f"{op.letter} of {op.path}, which is not there")

    def cut(self, target: Path, fate: Fate, rng: random.Random) -> None:
        """Lay out in an empty folder what the disk may hold after a cut now."""
        names = dict(self._synced)
        kept = {Fate.NONE: 0, Fate.ALL: len(self._pending)}.get(fate)
        for what, path, held in self._pending[
            : rng.randint(0, len(self._pending)) if kept is None else kept
        ]:
            if what == "name":
                names[path] = held
            else:
                names.pop(path, None)
        for path in sorted(names):
            held = names[path]
            if not (target / path).parent.is_dir():
                continue
            if held is None:
                (target / path).mkdir()
            else:
                (target / path).write_bytes(_content(held, fate, rng))

    def _name(self, path: str, held: _File | None) -> None:
        self._names[path] = held
        self._pending.append(("name", path, held))

    def _forget(self, path: str) -> None:
        self._names.pop(path, None)
        self._pending.append(("forget", path, None))

    def _sync(self, path: str, held: _File | None) -> None:
        if held is None:
            self._sync_names(path)
            return
        for pending in held.pending:
            _apply(held.synced, pending)
        held.pending.clear()

    def _sync_names(self, folder: str) -> None:
        left = []
        for entry in self._pending:
            what, path, held = entry
            if path.rpartition("/")[0] != folder:
                left.append(entry)
            elif what == "name":
                self._synced[path] = held
            else:
                self._synced.pop(path, None)
        self._pending = left


def _content(held: _File, fate: Fate, rng: random.Random) -> bytes:
    content = bytearray(held.synced)
    for op in held.pending:
        if fate is Fate.ALL or (fate is Fate.SOME and rng.random() < 0.5):
            _apply(content, op)
        elif fate is Fate.TORN:
            for piece in _sectors(op):
                if rng.random() < 0.5:  # noqa: PLR2004 - a coin
                    _apply(content, piece)
    return bytes(content)


def _sectors(op: Op) -> Iterator[Op]:
    if op.letter != "w":
        yield op
        return
    at, end = op.at, op.at + len(op.data)
    while at < end:
        after = min(end, (at // SECTOR_BYTES + 1) * SECTOR_BYTES)
        yield Op("w", op.path, at, op.data[at - op.at : after - op.at])
        at = after


def _apply(content: bytearray, op: Op) -> None:
    if op.letter == "t":
        del content[op.at :]
        content.extend(bytes(op.at - len(content)))
        return
    content.extend(bytes(max(0, op.at - len(content))))
    content[op.at : op.at + len(op.data)] = op.data
