"""How much room the disk has left, for how long that lasts, and a reserve for the last words.

The ballast is a file of real blocks beside the record. When the disk is full it is given up, so
that the alarm which says so, and some minutes more, still reach the disk; once there is room
again it is laid down anew. The forecast takes the faster of what this record writes and what the
disk loses to whoever else writes there. Belongs to the writer's thread; anybody may ask it.
"""

from __future__ import annotations

import os
from collections import deque
from collections.abc import Sequence
from contextlib import suppress
from pathlib import Path

from firmware_host.model.samples import Group

BALLAST_NAME = "ballast"
BALLAST_BYTES = 1 << 20
"""A quarter of an hour of six channels at ten frames a second, and the log of their writing."""
ROOM_FOR_BALLAST = 8 * BALLAST_BYTES
LOOK_EVERY_S = 60.0
LOOK_EVERY_WITHOUT_S = 5.0
HISTORY_S = 3600.0
LEAST_HISTORY_S = 600.0
BYTES_PER_VALUE = 12.0
"""What a value with its share of the row may take, see `tests.bench.record_costs`."""
DEFAULT_PERIOD_S = 1.0
_MODE = 0o640


class Ballast:
    """A file that only takes room."""

    def __init__(self, folder: Path) -> None:
        self._path = folder / BALLAST_NAME
        self.is_given_up = False

    def lay_down(self) -> None:
        """Take the room, as real blocks; without effect where the disk has too little of it."""
        try:
            if _free_bytes(self._path.parent) < ROOM_FOR_BALLAST and not self._path.exists():
                return
            handle = os.open(self._path, os.O_RDWR | os.O_CREAT | os.O_NOFOLLOW, _MODE)
            try:
                os.posix_fallocate(handle, 0, BALLAST_BYTES)
            finally:
                os.close(handle)
        except OSError:
            self._path.unlink(missing_ok=True)
        else:
            self.is_given_up = False

    def give_up(self) -> bool:
        """Give the room back to the record; False where there was none to give."""
        try:
            self._path.unlink()
        except OSError:
            return False
        self.is_given_up = True
        return True

    def take_away(self) -> None:
        """Leave no such file behind."""
        with suppress(OSError):
            self._path.unlink()


class DiskRoom:
    """The room of one record's disk."""

    def __init__(self, record: Path, groups: Sequence[Group]) -> None:
        self.ballast = Ballast(record.parent)
        self._record = record
        self._planned_bytes_per_s = sum(
            BYTES_PER_VALUE * len(group.channels) / (group.period_s or DEFAULT_PERIOD_S)
            for group in groups
        )
        self._seen: deque[tuple[float, int, int]] = deque()
        """Moment, bytes that are free, bytes of the record."""
        self._left_s: float | None = None

    @property
    def left_s(self) -> float | None:
        """Time for which the room lasts; None while nobody knows."""
        return self._left_s

    @property
    def trouble(self) -> str:
        """Say in words that the last reserve is in use; empty while it is not."""
        if not self.ballast.is_given_up:
            return ""
        return (
            f"{self._record}: the disk is full. What is written now goes into the last "
            f"{BALLAST_BYTES >> 20} MB, kept for that. Free space at once."
        )

    def look(self, now_s: float) -> None:
        """Look at the disk, if it is time."""
        every_s = LOOK_EVERY_WITHOUT_S if self.ballast.is_given_up else LOOK_EVERY_S
        if self._seen and now_s - self._seen[-1][0] < every_s:
            return
        if not self._seen or (
            self.ballast.is_given_up and _free_bytes(self._record.parent) >= ROOM_FOR_BALLAST
        ):
            self.ballast.lay_down()
        try:
            self._take(now_s, _free_bytes(self._record.parent), self._record.stat().st_size)
        except OSError:
            self._left_s = None

    def _take(self, now_s: float, free_bytes: int, record_bytes: int) -> None:
        self._seen.append((now_s, free_bytes, record_bytes))
        while now_s - self._seen[0][0] > HISTORY_S:
            self._seen.popleft()
        self._left_s = time_left_s(self._seen, self._planned_bytes_per_s)


def time_left_s(seen: Sequence[tuple[float, int, int]], planned_bytes_per_s: float) -> float | None:
    """Give the time for which the free bytes last, from moments with free and own bytes.

    Until ten minutes were seen, what the record is planned to write counts alone.

    >>> time_left_s([(0.0, 7200, 0)], 1.0)
    7200.0
    >>> time_left_s([(0.0, 9000, 0), (900.0, 7200, 600)], 1.0)
    3600.0
    """
    (begun_s, free_then, own_then), (now_s, free_now, own_now) = seen[0], seen[-1]
    rate = planned_bytes_per_s
    if now_s - begun_s >= LEAST_HISTORY_S:
        rate = max(
            rate,
            *((gone / (now_s - begun_s)) for gone in (free_then - free_now, own_now - own_then)),
        )
    return free_now / rate if rate > 0.0 else None


def _free_bytes(folder: Path) -> int:
    held = os.statvfs(folder)
    return held.f_bavail * held.f_frsize
